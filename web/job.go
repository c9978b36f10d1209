package web

import "github.com/gin-gonic/gin"

// jobRoutes registers the pages of this file.
func (s *Server) jobRoutes(r *gin.RouterGroup) {}
