package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
)

// PhotosBody is the most bytes that the form with photos may carry. Every other
// form is far smaller.
const PhotosBody = 200 << 20

const (
	mostFiles = 20               // of one form
	sendTime  = 10 * time.Minute // for a form with photos from a phone out of doors
	mostWords = 4 << 10          // of one field beside the files, bytes
)

func photoPlaces() []string { return job.Places() }

// batch is what came with one form, and what became of it.
type batch struct {
	words   map[string]string // subject, place, note, key
	files   int
	added   int
	refused []Refused
	errs    domain.Fields
}

// kept says what became of the good files when others were refused.
func (b *batch) kept() string {
	if len(b.refused) == 0 {
		return ""
	}
	if b.added == 0 {
		return fmt.Sprintf("None of %s could be kept.", Plural(b.files, "picture", "pictures"))
	}
	return fmt.Sprintf("%d of %s kept. Not kept:", b.added, Plural(b.files, "picture is", "pictures are"))
}

func (b *batch) refuse(name, why string) {
	b.refused = append(b.refused, Refused{Name: shortName(name), Why: why})
}

// shortName is what a file was called on its sender's machine, fit to be shown.
func shortName(name string) string {
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, ""))
	if r := []rune(name); len(r) > 60 {
		name = string(r[:60]) + "…"
	}
	return or(name, "a file without a name")
}

// addPhotos takes the files of a form one by one as they arrive, so that a
// large form never lies in memory as a whole. Each good file is kept, whatever
// becomes of the others.
func (s *Server) addPhotos(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActPhoto); err != nil {
		s.fail(c, err)
		return
	}
	patience := http.NewResponseController(c.Writer)
	_ = patience.SetReadDeadline(time.Now().Add(sendTime)) // a server without deadlines needs none
	_ = patience.SetWriteDeadline(time.Now().Add(sendTime + time.Minute))
	parts, err := c.Request.MultipartReader()
	if err != nil {
		s.fail(c, domain.Invalidf("photos come as a form with files"))
		return
	}
	b := batch{words: map[string]string{}}
	if err := s.takeParts(c, parts, &b); err != nil {
		b.stopped(err)
	}
	if b.files == 0 && len(b.errs) == 0 {
		b.errs = domain.Fields{"photos": "choose at least one picture, or take one"}
	}
	if len(b.errs)+len(b.refused) > 0 {
		s.photosPage(c, http.StatusUnprocessableEntity, b)
		return
	}
	s.say(c, Plural(b.added, "photo is", "photos are")+" kept.")
	Go(c, c.Request.URL.Path)
}

// stopped notes why the rest of a form did not arrive.
func (b *batch) stopped(err error) {
	text := "were cut off on their way; send them again"
	if _, large := errors.AsType[*http.MaxBytesError](err); large {
		text = fmt.Sprintf("have more than %d MB together; send fewer at once", PhotosBody>>20)
	}
	if b.added == 0 {
		b.errs = domain.Fields{"photos": text}
		return
	}
	b.refuse("the rest", "they "+text)
}

// takeParts reads the fields and adds each file. The fields stand before the
// files in the form.
func (s *Server) takeParts(c *gin.Context, parts *multipart.Reader, b *batch) error {
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		switch part.FormName() {
		case "photos", "camera":
			if part.FileName() != "" { // else none was chosen
				err = s.takeFile(c, part, b)
			}
		default:
			var text []byte
			text, err = io.ReadAll(io.LimitReader(part, mostWords))
			b.words[part.FormName()] = strings.TrimSpace(string(text))
		}
		if err != nil {
			return err
		}
	}
}

// takeFile reads one file and adds it. Its error tells that the form stopped
// coming; what is wrong with the file is noted in the batch.
func (s *Server) takeFile(c *gin.Context, part *multipart.Part, b *batch) error {
	b.files++
	if b.files == 1 {
		p := photo.Photo{Subject: b.words["subject"], Place: b.words["place"], Note: b.words["note"]}
		b.errs = domain.FieldsOf(p.Check())
	}
	if len(b.errs) > 0 {
		return nil // the words stand for all files; none is taken
	}
	if b.files > mostFiles {
		b.refuse(part.FileName(), fmt.Sprintf("send at most %d at once; send this one again", mostFiles))
		return nil
	}
	raw, err := io.ReadAll(io.LimitReader(part, photo.MaxBytes+1))
	if err != nil {
		return err
	}
	_, err = s.Work.AddPhoto(b.keyed(c, raw), actor(c), workshop.NewPhoto{
		Job: jobID(c), Survey: b.survey(), Subject: b.words["subject"], Place: b.words["place"], Note: b.words["note"], Raw: raw,
	})
	switch {
	case err == nil:
		b.added++
	case domain.KindOf(err) == domain.Internal:
		slog.Error("keep a photo", "job", number(c, "job"), "error", err)
		b.refuse(part.FileName(), "the fault is ours; send it again")
	default:
		b.refuse(part.FileName(), domain.TextOf(err))
	}
	return nil
}

// survey is the survey that was chosen, 0 for none. What is no number names a
// survey that no job has.
func (b *batch) survey() domain.SurveyID {
	if b.words["survey"] == "" {
		return 0
	}
	n, err := strconv.ParseInt(b.words["survey"], 10, 64)
	if err != nil {
		return -1
	}
	return domain.SurveyID(n)
}

// keyed is the request's context with a key for one file of the form: sent
// again, the whole form adds what is missing and nothing twice.
func (b *batch) keyed(c *gin.Context, raw []byte) context.Context {
	key := b.words["key"]
	if key == "" {
		return c.Request.Context()
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n%q %q %q %q\n", c.Request.URL.Path, b.words["subject"], b.words["place"], b.words["note"], b.words["survey"])
	sum.Write(raw)
	return workshop.WithKey(c.Request.Context(), fmt.Sprintf("%s-%d", key, b.files), hex.EncodeToString(sum.Sum(nil)))
}
