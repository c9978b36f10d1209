package web

import "github.com/gin-gonic/gin"

// benchRoutes registers the pages of this file.
func (s *Server) benchRoutes(r *gin.RouterGroup) {}
