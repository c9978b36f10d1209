package web

import "github.com/gin-gonic/gin"

// templateRoutes registers the pages of this file.
func (s *Server) templateRoutes(r *gin.RouterGroup) {}
