package web

import "github.com/gin-gonic/gin"

// comebackRoutes registers earlier work on an instrument and who pays for it.
func (s *Server) comebackRoutes(r *gin.RouterGroup) {}
