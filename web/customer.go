package web

import "github.com/gin-gonic/gin"

// customerRoutes registers the pages of this file.
func (s *Server) customerRoutes(r *gin.RouterGroup) {}
