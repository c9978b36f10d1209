package web

import "github.com/gin-gonic/gin"

// arrivalRoutes registers the pages of this file.
func (s *Server) arrivalRoutes(r *gin.RouterGroup) {}
