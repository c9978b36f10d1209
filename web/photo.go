package web

import "github.com/gin-gonic/gin"

// photoRoutes registers photos of a job.
func (s *Server) photoRoutes(r *gin.RouterGroup) {}
