package web

import "github.com/gin-gonic/gin"

// airRoutes registers the shop's own air: places, meters, readings, alarms.
func (s *Server) airRoutes(r *gin.RouterGroup) {}
