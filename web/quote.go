package web

import "github.com/gin-gonic/gin"

// quoteRoutes registers the pages of this file.
func (s *Server) quoteRoutes(r *gin.RouterGroup) {}
