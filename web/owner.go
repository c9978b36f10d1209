package web

import "github.com/gin-gonic/gin"

// ownerRoutes registers the pages of this file.
func (s *Server) ownerRoutes(r *gin.RouterGroup) {}
