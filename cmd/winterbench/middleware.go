package main

import (
	"log/slog"
	"net/http"
	"runtime/debug"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/klauspost/compress/gzhttp"

	"winterbench/api"
	"winterbench/domain/air"
	"winterbench/web"
)

// maxBody is the most bytes a request may carry, but for largeBodies.
const maxBody = 2 << 20

// largeBodies are the routes that take pictures and long files, with the most
// bytes of each.
var largeBodies = map[string]int64{
	"POST /air/import": web.AirImportBody,
	"POST " + api.Root + "/air/places/:place/import": air.MaxFile + 1<<10,
	"POST /jobs/:job/photos":                         web.PhotosBody,
	"POST " + api.Root + "/jobs/:job/photos":         api.PhotoBody + 1<<10, // so that the interface itself says what is too large
}

// limited cuts off bodies that are too large.
func limited(c *gin.Context) {
	most, large := largeBodies[c.Request.Method+" "+c.FullPath()]
	if !large {
		most = maxBody
	}
	c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, most)
}

// compressed sends pages, styles and the script compressed to browsers that take
// it. JSON goes as it is: its entity tags stand for those very bytes. Nothing
// secret stands beside what a stranger could make a page repeat, for cookies do
// not come with requests from other sites.
func compressed(next http.Handler) (http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1400), gzhttp.ContentTypes([]string{"text/html", "text/css", "text/javascript"}))
	if err != nil {
		return nil, err
	}
	return wrap(next), nil
}

// logged logs what was asked, without who asked and without form values.
func logged(log *slog.Logger) gin.HandlerFunc {
	return func(c *gin.Context) {
		began := time.Now()
		c.Next()
		log.Debug("request", "method", c.Request.Method, "route", c.FullPath(), "status", c.Writer.Status(), "ms", time.Since(began).Milliseconds())
	}
}

// recovered answers a panic with a plain error and logs where it happened.
func recovered(log *slog.Logger) gin.HandlerFunc {
	return func(c *gin.Context) {
		defer func() {
			if p := recover(); p != nil {
				log.Error("panic", "route", c.FullPath(), "what", p, "stack", string(debug.Stack()))
				if !c.Writer.Written() {
					c.String(http.StatusInternalServerError, "The fault is ours, not yours. Nothing was half done.\n")
				}
				c.Abort()
			}
		}()
		c.Next()
	}
}
