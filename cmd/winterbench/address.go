package main

import (
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// proxies are the networks of proxies whose word on the client is believed.
type proxies []netip.Prefix

// readProxies reads a list of addresses and networks.
func readProxies(list []string) (proxies, error) {
	var out proxies
	for _, text := range list {
		text = strings.TrimSpace(text)
		if p, err := netip.ParsePrefix(text); err == nil {
			out = append(out, p.Masked())
			continue
		}
		a, err := netip.ParseAddr(text)
		if err != nil {
			return nil, domain.Invalidf("--trusted-proxies: %q is neither an address nor a network; write 10.0.0.7 or 10.0.0.0/24, with commas between", text)
		}
		out = append(out, netip.PrefixFrom(a.Unmap(), a.Unmap().BitLen()))
	}
	return out, nil
}

func (p proxies) trust(a netip.Addr) bool {
	for _, network := range p {
		if network.Contains(a) {
			return true
		}
	}
	return false
}

// client is the address that a request came from: that of the connection, or,
// behind trusted proxies, the last one of X-Forwarded-For that is none of them.
// What stands further left anybody may have written. over tells whether a trusted
// proxy says that the client speaks TLS.
func (p proxies) client(r *http.Request) (a netip.Addr, over bool) {
	port, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}, r.TLS != nil
	}
	a = port.Addr().Unmap()
	if !p.trust(a) {
		return a, r.TLS != nil
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0 && p.trust(a); i-- {
		before, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			break
		}
		a = before.Unmap()
	}
	protos := strings.Split(strings.Join(r.Header.Values("X-Forwarded-Proto"), ","), ",")
	return a, r.TLS != nil || strings.EqualFold(strings.TrimSpace(protos[len(protos)-1]), "https")
}

// known puts the client's address into the request, and marks the cookies of a
// request that came over TLS as for TLS alone.
func (p proxies) known(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a, over := p.client(r)
		if over {
			w.Header().Set("Strict-Transport-Security", "max-age=31536000")
			w = &secureWriter{ResponseWriter: w}
		}
		next.ServeHTTP(w, r.WithContext(workshop.WithAddress(r.Context(), a)))
	})
}

// secureWriter marks cookies as for TLS alone before they are sent.
type secureWriter struct {
	http.ResponseWriter
	done bool
}

// WriteHeader marks the cookies.
func (w *secureWriter) WriteHeader(status int) {
	if !w.done {
		w.done = true
		cookies := w.Header()["Set-Cookie"]
		for i, c := range cookies {
			if !strings.Contains(strings.ToLower(c), "; secure") {
				cookies[i] = c + "; Secure"
			}
		}
	}
	w.ResponseWriter.WriteHeader(status)
}

// Write sends the headers first, as any writer does.
func (w *secureWriter) Write(b []byte) (int, error) {
	if !w.done {
		w.WriteHeader(http.StatusOK)
	}
	return w.ResponseWriter.Write(b)
}

// Unwrap gives the writer below to http.ResponseController.
func (w *secureWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// overTLS wraps a listener when a certificate is given; both files or neither.
func overTLS(l net.Listener, cert, key string) (net.Listener, error) {
	if cert == "" && key == "" {
		return l, nil
	}
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return nil, fmt.Errorf("read --tls-cert and --tls-key: %w", err)
	}
	return tls.NewListener(l, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}), nil
}

// isLoopback reports whether an address to listen on is reached from this machine alone.
func isLoopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback()
}
