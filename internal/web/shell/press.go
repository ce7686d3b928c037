package shell

import (
	"compress/gzip"
	"net/http"
	"strings"
	"sync"
)

// pressed sends pages compressed to a browser that takes them so. The drawings in a
// live answer shrink to a quarter, which a phone on a slow network feels.
func pressed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			next.ServeHTTP(w, r)
			return
		}
		p := &presser{ResponseWriter: w}
		defer p.close()
		next.ServeHTTP(p, r)
	})
}

// presses are writers that can be used again: one holds some hundred kilobytes.
var presses = sync.Pool{New: func() any {
	z, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	if err != nil {
		panic(err) // the level is a constant
	}
	return z
}}

// presser compresses what is written to it once it is told that it is a page.
type presser struct {
	http.ResponseWriter
	z *gzip.Writer // nil while nothing is compressed
}

// WriteHeader decides by the type of the answer: paper and files stay as they are.
func (p *presser) WriteHeader(status int) {
	h := p.Header()
	if p.z == nil && strings.HasPrefix(h.Get("Content-Type"), "text/html") && h.Get("Content-Encoding") == "" {
		h.Set("Content-Encoding", "gzip")
		h.Add("Vary", "Accept-Encoding")
		h.Del("Content-Length")
		p.z = presses.Get().(*gzip.Writer)
		p.z.Reset(p.ResponseWriter)
	}
	p.ResponseWriter.WriteHeader(status)
}

func (p *presser) Write(b []byte) (int, error) {
	if p.z != nil {
		return p.z.Write(b)
	}
	return p.ResponseWriter.Write(b)
}

func (p *presser) close() {
	if p.z != nil {
		_ = p.z.Close() // the browser has gone when this fails: nobody to tell
		presses.Put(p.z)
	}
}

// Unwrap lets http.ResponseController reach the writer beneath.
func (p *presser) Unwrap() http.ResponseWriter { return p.ResponseWriter }
