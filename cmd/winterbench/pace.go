package main

import (
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// How often one address may ask for what is open to everybody: paceBurst at
// once, and pacePerSecond in the long run, on each server. Source: common
// practice, no source; a shop behind one address stays far below.
const (
	paceBurst     = 120
	pacePerSecond = 2
	paceMost      = 20_000 // addresses remembered
)

// pace slows addresses that ask too often for pages which need no sign-in. What
// guesses passwords is slowed in the database, by package workshop, for all servers.
type pace struct {
	clock domain.Clock
	mu    sync.Mutex
	left  map[netip.Addr]allowance
}

// allowance is how many requests an address had left at a moment.
type allowance struct {
	left float64
	at   time.Time
}

func newPace(clock domain.Clock) *pace {
	return &pace{clock: clock, left: map[netip.Addr]allowance{}}
}

// take uses one request of an address up, and returns how long to wait when
// there was none.
func (p *pace) take(a netip.Addr) time.Duration {
	if a.Is6() {
		a = netip.PrefixFrom(a.WithZone(""), 64).Masked().Addr()
	}
	now := p.clock.Now()
	p.mu.Lock()
	defer p.mu.Unlock()
	was, there := p.left[a]
	if !there {
		was = allowance{paceBurst, now}
		p.room(now)
	}
	left := min(was.left+now.Sub(was.at).Seconds()*pacePerSecond, paceBurst)
	if left < 1 {
		p.left[a] = allowance{left, now}
		return time.Duration((1 - left) / pacePerSecond * float64(time.Second))
	}
	p.left[a] = allowance{left - 1, now}
	return 0
}

// room forgets addresses whose allowance is full again, and all when that does
// not help: then the one at fault begins anew too, but memory stays bounded.
func (p *pace) room(now time.Time) {
	if len(p.left) < paceMost {
		return
	}
	for a, was := range p.left {
		if was.left+now.Sub(was.at).Seconds()*pacePerSecond >= paceBurst {
			delete(p.left, a)
		}
	}
	if len(p.left) >= paceMost {
		clear(p.left)
	}
}

// open are the paths that need no sign-in, but for what is kept for ever.
func isOpen(path string) bool {
	return path == "/sign-in" || path == "/sign-in/code" || path == "/quick" || path == "/first" || strings.HasPrefix(path, "/feeds/") || strings.HasPrefix(path, "/yours/") || path == "/api/v1/shop" || strings.HasPrefix(path, "/api/v1/calc/")
}

// paced lets requests for open pages through as often as an address may ask.
func (p *pace) paced(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if isOpen(r.URL.Path) {
			if wait := p.take(workshop.AddressOf(r.Context())); wait > 0 {
				w.Header().Set("Retry-After", strconv.Itoa(int(wait.Seconds())+1))
				http.Error(w, "Too many requests from your address. Wait a little.", http.StatusTooManyRequests)
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}
