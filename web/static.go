package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
)

//go:embed static
var staticFiles embed.FS

// StaticPath is where the static files are served; the rest of the address is
// name.hash.ext.
const StaticPath = "/static/"

// ContentPolicy is the Content-Security-Policy of every page: nothing from
// elsewhere, nothing inline.
const ContentPolicy = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// Static serves the stylesheet and the script under names that hold a hash of
// their content, so that a browser may keep them for ever.
type Static struct {
	paths map[string]string // app.css to /static/app.0123456789abcdef.css
	files map[string]staticFile
}

type staticFile struct {
	mime          string
	plain, zipped []byte
}

// NewStatic hashes and compresses the embedded files.
func NewStatic() (*Static, error) {
	sub, err := fs.Sub(staticFiles, "static")
	if err != nil {
		return nil, fmt.Errorf("open static files: %w", err)
	}
	return packStatic(sub)
}

func packStatic(fsys fs.FS) (*Static, error) {
	s := &Static{paths: make(map[string]string), files: make(map[string]staticFile)}
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, fmt.Errorf("list static files: %w", err)
	}
	for _, e := range entries {
		plain, err := fs.ReadFile(fsys, e.Name())
		if err != nil {
			return nil, fmt.Errorf("read static file %s: %w", e.Name(), err)
		}
		zipped, err := zip(plain)
		if err != nil {
			return nil, fmt.Errorf("compress static file %s: %w", e.Name(), err)
		}
		sum := sha256.Sum256(plain)
		ext := path.Ext(e.Name())
		where := StaticPath + strings.TrimSuffix(e.Name(), ext) + "." + hex.EncodeToString(sum[:8]) + ext
		s.paths[e.Name()] = where
		s.files[where] = staticFile{mime: mime.TypeByExtension(ext), plain: plain, zipped: zipped}
	}
	return s, nil
}

func zip(plain []byte) ([]byte, error) {
	var buf bytes.Buffer
	w, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(plain); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// Path returns the address of a file by its plain name, such as "app.css". An
// unknown name is an error, which stops the page that asked.
func (s *Static) Path(name string) (string, error) {
	where, ok := s.paths[name]
	if !ok {
		return "", fmt.Errorf("no static file %q", name)
	}
	return where, nil
}

// ServeHTTP answers GET and HEAD for the hashed addresses; all others are not
// found, so that an old page never gets a new stylesheet under an old name.
func (s *Static) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	f, ok := s.files[req.URL.Path]
	if !ok {
		http.NotFound(w, req)
		return
	}
	body, h := f.plain, w.Header()
	h.Set("Content-Type", f.mime)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Add("Vary", "Accept-Encoding")
	if acceptsGzip(req.Header.Get("Accept-Encoding")) {
		h.Set("Content-Encoding", "gzip")
		body = f.zipped
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if req.Method != http.MethodHead {
		// A reader that went away is no fault of ours; there is nobody to tell.
		_, _ = w.Write(body)
	}
}

// acceptsGzip reads an Accept-Encoding header. Source: RFC 9110, section 12.5.3:
// a coding with a weight of 0 is not acceptable.
func acceptsGzip(header string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.TrimSpace(name) != "gzip" {
			continue
		}
		q, weighed := strings.CutPrefix(strings.TrimSpace(weight), "q=")
		value, err := strconv.ParseFloat(q, 64)
		return !weighed || err == nil && value > 0
	}
	return false
}
