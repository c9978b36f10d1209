package web

import "github.com/gin-gonic/gin"

// deskRoutes registers the pages of this file.
func (s *Server) deskRoutes(r *gin.RouterGroup) {}
