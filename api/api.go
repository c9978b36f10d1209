// Package api is the JSON interface of the shop under /api/v1.
package api

import (
	"github.com/gin-gonic/gin"

	"winterbench/domain/workshop"
)

// Config is what the interface works with.
type Config struct {
	Work    *workshop.Workshop
	Read    workshop.Queries
	Version string // of the program, for the description of the interface
}

// API answers requests under /api/v1.
type API struct {
	work    *workshop.Workshop
	read    workshop.Queries
	version string
}

// New makes the interface.
func New(c Config) *API { return &API{work: c.Work, read: c.Read, version: c.Version} }

// Register adds the routes to an engine.
func (a *API) Register(e *gin.Engine) {
	e.GET("/api/v1/", func(c *gin.Context) { c.JSON(200, map[string]string{"version": a.version}) })
}
