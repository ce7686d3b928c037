package shell

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"runtime/debug"
)

// contentPolicy lets a page use what this studio serves and nothing else: no
// inline script or style, no frame, no request to any other machine.
const contentPolicy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headers stand on every answer, refusals too.
func (s *Shell) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
		next.ServeHTTP(w, r)
	})
}

// knownHost refuses a request for a name that is not this studio's.
func (s *Shell) knownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.hosts[hostOnly(r.Host)] {
			next.ServeHTTP(w, r)
			return
		}
		s.log.Warn("refused a request for another host", "host", r.Host, "from", r.RemoteAddr)
		// Plain and without the studio's name: whoever asks under a strange
		// name learns nothing but this.
		answer(w, http.StatusMisdirectedRequest, "text/plain", []byte("This studio does not answer to that name. "+
			"Open it by the address that the program printed when it started, which begins with http://127.0.0.1.\n"))
	})
}

// refuseOrigin answers a post that came from another site's page.
func (s *Shell) refuseOrigin(w http.ResponseWriter, r *http.Request) {
	s.log.Warn("refused a post from another site", "origin", r.Header.Get("Origin"), "path", r.URL.Path)
	s.say(w, r, http.StatusForbidden, faultView{
		Sentences: []string{"This was sent from another site's page, so nothing was done with it."},
		Do:        "Open the page here and send it again.",
	})
}

// limited bounds what is read of a body.
func (s *Shell) limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.ContentLength > s.cfg.MaxBody {
			// Known beforehand: nothing is kept of it. A browser reads the answer only
			// once it has sent all, so a body that is not vast is let run out.
			_, _ = io.CopyN(io.Discard, r.Body, 64<<20)
			w.Header().Set("Connection", "close")
			s.Fail(w, r, &http.MaxBytesError{Limit: s.cfg.MaxBody})
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, s.cfg.MaxBody)
		next.ServeHTTP(w, r)
	})
}

// started tells whether an answer has begun, after which no other can be sent.
type started struct {
	http.ResponseWriter
	begun bool
}

func (w *started) WriteHeader(status int) {
	w.begun = true
	w.ResponseWriter.WriteHeader(status)
}

func (w *started) Write(b []byte) (int, error) {
	w.begun = true
	return w.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController reach the writer beneath.
func (w *started) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// recovered turns a panic into a page in words, with a reference that the log
// has too.
func (s *Shell) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sw := &started{ResponseWriter: w}
		defer func() {
			v := recover()
			if v == nil {
				return
			}
			if v == http.ErrAbortHandler { //nolint:errorlint // net/http compares it so
				panic(v)
			}
			ref := reference()
			s.log.Error("panic", "ref", ref, "path", r.URL.Path, "panic", fmt.Sprint(v), "stack", string(debug.Stack()))
			if sw.begun {
				panic(http.ErrAbortHandler)
			}
			s.sayInternal(sw, r, ref)
		}()
		next.ServeHTTP(sw, r)
	})
}

// reference is a short name for one failure, to find it in the log by.
func reference() string { return rand.Text()[:8] }
