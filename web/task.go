package web

import "github.com/gin-gonic/gin"

// taskRoutes registers the pages of this file.
func (s *Server) taskRoutes(r *gin.RouterGroup) {}
