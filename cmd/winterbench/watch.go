package main

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"winterbench/store"
)

// watch is what whoever runs the program can see of it, on an address of its own
// that no customer reaches:
//
//	/alive    200 while the program answers at all
//	/ready    200 when it also reaches its database and is not stopping, else 503
//	/metrics  figures in the text format of Prometheus
type watch struct {
	store    *store.Store
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
	copied   prometheus.Gauge
	stopping atomic.Bool
}

func newWatch(s *store.Store) *watch {
	w := &watch{
		store: s, registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "winterbench_request_seconds", Help: "How long requests took, by route and status.",
			Buckets: []float64{.002, .005, .01, .02, .05, .1, .25, .5, 1, 2.5, 10},
		}, []string{"method", "route", "status"}),
		copied: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "winterbench_last_copy_timestamp_seconds", Help: "When this server last made a whole copy of the shop; 0 for never since its start.",
		}),
	}
	about := prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "winterbench_version", Help: "1, with the program's version."}, []string{"version"})
	about.WithLabelValues(version).Set(1)
	w.registry.MustRegister(w.requests, w.copied, about, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if pool, err := s.Pool(); err == nil {
		w.registry.MustRegister(collectors.NewDBStatsCollector(pool, "winterbench"))
	}
	return w
}

// timed counts a request under its route, never under what was typed into it.
func (w *watch) timed(c *gin.Context) {
	began := time.Now()
	c.Next()
	route := c.FullPath()
	if route == "" {
		route = "none"
	}
	w.requests.WithLabelValues(method(c.Request.Method), route, strconv.Itoa(c.Writer.Status())).Observe(time.Since(began).Seconds())
}

// method keeps what strangers make up out of the figures' names.
func method(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodDelete, http.MethodPatch, http.MethodOptions:
		return m
	}
	return "other"
}

// made notes a copy of the shop.
func (w *watch) made(at time.Time) { w.copied.Set(float64(at.Unix())) }

func (w *watch) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /alive", func(rw http.ResponseWriter, _ *http.Request) { _, _ = rw.Write([]byte("alive\n")) })
	mux.HandleFunc("GET /ready", func(rw http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), 3*time.Second)
		defer cancel()
		switch err := w.store.Ping(ctx); {
		case w.stopping.Load():
			http.Error(rw, "stopping", http.StatusServiceUnavailable)
		case err != nil:
			http.Error(rw, "the database cannot be reached", http.StatusServiceUnavailable)
		default:
			_, _ = rw.Write([]byte("ready\n"))
		}
	})
	mux.Handle("GET /metrics", promhttp.HandlerFor(w.registry, promhttp.HandlerOpts{}))
	return mux
}

// serve answers on its own address, "" for not at all, until ctx ends.
func (w *watch) serve(ctx context.Context, address string, log *slog.Logger) (string, error) {
	if address == "" {
		return "", nil
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return "", err
	}
	srv := &http.Server{Handler: w.handler(), ReadHeaderTimeout: 5 * time.Second, WriteTimeout: 15 * time.Second}
	go func() {
		if err := srv.Serve(l); err != http.ErrServerClosed {
			log.Error("the address for watching failed", "error", err)
		}
	}()
	context.AfterFunc(ctx, func() { _ = srv.Close() })
	return l.Addr().String(), nil
}
