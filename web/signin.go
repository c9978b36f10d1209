package web

import "github.com/gin-gonic/gin"

// signInRoutes registers the pages of this file.
func (s *Server) signInRoutes(r *gin.RouterGroup) {}
