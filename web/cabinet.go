package web

import "github.com/gin-gonic/gin"

// cabinetRoutes registers the pages of this file.
func (s *Server) cabinetRoutes(r *gin.RouterGroup) {}
