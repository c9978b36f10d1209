package web

import "github.com/gin-gonic/gin"

// surveyRoutes registers the pages of this file.
func (s *Server) surveyRoutes(r *gin.RouterGroup) {}
