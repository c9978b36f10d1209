package web

import "github.com/gin-gonic/gin"

// moneyRoutes registers the pages of this file.
func (s *Server) moneyRoutes(r *gin.RouterGroup) {}
