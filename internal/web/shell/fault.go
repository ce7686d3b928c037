package shell

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"barwright/fault"
)

// faultView is the page that says why there is no page.
type faultView struct {
	Sentences []string // what is wrong
	Do        string   // what would do
	Ref       string   // what the log calls it; "" when nothing was logged
}

var faultPage = Declare[faultView](own, "fault")

// titles of the pages that say why there is no page.
var titles = map[int]string{
	http.StatusForbidden:             "Sent from another site",
	http.StatusNotFound:              "No such page",
	http.StatusMethodNotAllowed:      "Not possible here",
	http.StatusConflict:              "Something has changed",
	http.StatusRequestEntityTooLarge: "Too much at once",
	http.StatusUnprocessableEntity:   "Please check what you typed",
	http.StatusInternalServerError:   "Something went wrong in the program",
}

// StatusOf is the status that answers a kind of fault.
func StatusOf(k fault.Kind) int {
	switch k {
	case fault.Invalid:
		return http.StatusUnprocessableEntity
	case fault.NotFound:
		return http.StatusNotFound
	case fault.Conflict:
		return http.StatusConflict
	default:
		return http.StatusInternalServerError
	}
}

// Fail shows err. A handler that can show the maker's own form again, with what
// was typed, does that itself; what it returns ends here.
func (s *Shell) Fail(w http.ResponseWriter, r *http.Request, err error) {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		s.say(w, r, http.StatusRequestEntityTooLarge, faultView{
			Sentences: []string{fmt.Sprintf("That is more than this page takes, which is %s.", bytesInWords(big.Limit))},
			Do:        "Nothing was kept. Send less at a time.",
		})
		return
	}
	list := fault.All(err)
	status := StatusOf(fault.KindOf(err))
	if status == http.StatusInternalServerError {
		if r.Context().Err() != nil {
			return // the browser has gone: nobody is there to be told
		}
		ref := reference()
		s.log.Error("failed", "ref", ref, "method", r.Method, "path", r.URL.Path, "err", causes(list))
		s.sayInternal(w, r, ref)
		return
	}
	v := faultView{Do: "Go back, change it, and send it again. Nothing was kept."}
	if status == http.StatusNotFound {
		v.Do = "The menu above leads to everything that is kept here."
	}
	if status == http.StatusConflict {
		v.Do = "Nothing was changed. Open it again to see how it stands now."
	}
	for _, f := range list {
		if f.Message != "" {
			v.Sentences = append(v.Sentences, f.Message)
		}
	}
	s.say(w, r, status, v)
}

// causes is the whole chain of a list of faults, for the log only.
func causes(list fault.List) string {
	var parts []string
	for _, f := range list {
		part := f.Error()
		if f.Err != nil {
			part += ": " + f.Err.Error()
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, "; ")
}

func (s *Shell) sayInternal(w http.ResponseWriter, r *http.Request, ref string) {
	s.say(w, r, http.StatusInternalServerError, faultView{
		Sentences: []string{"This is a fault of the program, not of what you typed."},
		Do:        "What was kept before is still kept. Try once more. If it happens again, look in the log for the reference below.",
		Ref:       ref,
	})
}

// say writes a fault as a page, or as one line of text for a live form, which
// shows it beside the numbers that it could not renew.
func (s *Shell) say(w http.ResponseWriter, r *http.Request, status int, v faultView) {
	if len(v.Sentences) == 0 {
		v.Sentences = []string{titles[status] + "."}
	}
	if IsLive(r) {
		line := strings.Join(v.Sentences, " ")
		if v.Ref != "" {
			line += " (reference " + v.Ref + ")"
		}
		answer(w, status, "text/plain", []byte(line+"\n"))
		return
	}
	title := cmp.Or(titles[status], http.StatusText(status))
	if err := faultPage.Write(s, w, r, status, Head{Title: title}, v); err != nil {
		s.log.Error("the page for a fault failed itself", "err", err)
		http.Error(w, title+". "+strings.Join(v.Sentences, " "), status)
	}
}

// bytesInWords writes a limit as a person would: 1 MiB, 512 KiB, 900 bytes.
func bytesInWords(n int64) string {
	switch {
	case n >= 1<<20 && n%(1<<20) == 0:
		return fmt.Sprintf("at most %d MiB", n>>20)
	case n >= 1<<10:
		return fmt.Sprintf("at most %d KiB", n>>10)
	default:
		return fmt.Sprintf("at most %d bytes", n)
	}
}
