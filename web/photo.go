package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
)

// photoRoutes registers photos of a job.
func (s *Server) photoRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/photos", s.photos)
	r.POST("/jobs/:job/photos", s.addPhotos)
	r.GET("/photos/:photo", s.photo)
	r.GET("/photos/:photo/full.jpg", s.photoFile(workshop.Large))
	r.GET("/photos/:photo/thumb.jpg", s.photoFile(workshop.Small))
	r.POST("/photos/:photo/withdraw", s.withdrawPhoto)
}

// Thumb is a small picture that leads to the large one.
type Thumb struct {
	Href, Src     string
	Alt           string // what can be seen
	Width, Height int    // px
	Words         string
	Note          string
}

func photoPath(id domain.PhotoID) string { return fmt.Sprintf("/photos/%d", id) }

// photoSrc is the address of a picture. It carries the start of the content's
// name, as browsers keep what they got for good.
func photoSrc(p *photo.Photo, file, name string) string {
	return fmt.Sprintf("%s/%s?v=%.12s", photoPath(p.ID), file, name)
}

func thumbOf(p *photo.Photo, words, note string) Thumb {
	w, h := p.ThumbSize()
	return Thumb{Href: photoPath(p.ID), Src: photoSrc(p, "thumb.jpg", p.Thumb), Alt: "Photo: " + p.What(), Width: w, Height: h, Words: words, Note: note}
}

// fewPhotos is how many photos a job's page shows.
const fewPhotos = 8

// JobPhotos is the photos of a job in short.
type JobPhotos struct {
	Answer string
	Few    []Thumb
	Way    Link
}

func (v jobView) photos() JobPhotos {
	out := JobPhotos{Answer: workshop.PhotosAnswer(v.shots), Way: Link{Href: v.path("/photos"), Text: "Add photos"}}
	n := len(photo.Standing(v.shots))
	if n > 0 {
		out.Way.Text = "Add photos, or see them large"
	}
	if n > fewPhotos {
		out.Way.Text = fmt.Sprintf("All %d photos", n)
	}
	for _, g := range photo.Grouped(v.shots) {
		for i := range g.Photos {
			if len(out.Few) < fewPhotos {
				out.Few = append(out.Few, thumbOf(&g.Photos[i], g.Photos[i].What(), ""))
			}
		}
	}
	return out
}

// PhotosPage shows the photos of a job and takes new ones.
type PhotosPage struct {
	Page
	At        string
	Job       Link
	Groups    []PhotoGroup
	Form      *PhotosForm // nil when the reader may not add any
	Kept      string      // what became of the good files of a batch that had others
	Refused   []Refused
	Withdrawn Table
}

// PhotoGroup is the photos of one subject.
type PhotoGroup struct {
	Name   string
	Photos []Thumb
}

// PhotosForm takes several pictures at once.
type PhotosForm struct {
	Key    string
	Words  []Field
	Files  []Field
	Folded bool
}

// Refused is a file that was not kept, and why.
type Refused struct{ Name, Why string }

// accepted are the files that the form offers. A phone that photographs in
// another format sends JPEG when only these are asked for.
const accepted = "image/jpeg,image/png,image/webp"

func (s *Server) photos(c *gin.Context) { s.photosPage(c, http.StatusOK, batch{}) }

// photosPage writes the page of a job's photos, with what became of a batch.
func (s *Server) photosPage(c *gin.Context, status int, b batch) {
	f := s.openFolder(c)
	if f == nil {
		return
	}
	all, err := s.Read.PhotosOfJob(c.Request.Context(), f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &PhotosPage{Page: s.frame(c, "Photos of "+f.Instrument.Title(), deskDoor(c)), At: jobPath(f.Job.ID) + "/photos", Kept: b.kept(), Refused: b.refused}
	p.Folio, p.Answer, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), workshop.PhotosAnswer(all), b.errs
	p.Job = Link{Href: jobPath(f.Job.ID), Text: "Back to the job"}
	for _, g := range photo.Grouped(all) {
		group := PhotoGroup{Name: strings.ToUpper(g.Subject[:1]) + g.Subject[1:]}
		for i := range g.Photos {
			x := &g.Photos[i]
			group.Photos = append(group.Photos, thumbOf(x, or(x.Place, "no place noted"), Day(x.At.In(f.Shop.Location()))+", "+x.By))
		}
		p.Groups = append(p.Groups, group)
	}
	if workshop.May(actor(c), workshop.ActPhoto) == nil {
		p.Form = photosForm(b, len(p.Groups) > 0, surveysOf(f))
	}
	p.Withdrawn = s.withdrawn(all, f.Shop)
	s.page(c, status, "photo/list", p)
}

// surveysOf lists the surveys that a photo may belong to.
func surveysOf(f *workshop.Folder) []Option {
	out := []Option{{Label: "no survey"}}
	for _, x := range f.Surveys {
		out = append(out, Option{Value: fmt.Sprint(x.ID), Label: surveyName(x.ID, f)})
	}
	return out
}

func photosForm(b batch, some bool, surveys []Option) *PhotosForm {
	camera := FileField("camera", "Take one now", accepted).Hint("On a phone this opens the camera.")
	camera.Camera = true
	files := FileField("photos", "Or choose pictures", accepted).Hint(fmt.Sprintf("JPEG, PNG or WebP, at most %d at once and %d MB each. Where and when they were taken is not kept in them.", mostFiles, photo.MaxBytes>>20))
	files.Many = true
	form := &PhotosForm{Key: NewKey(), Files: []Field{camera.Marked(b.errs), files.Marked(b.errs)}, Folded: some && len(b.errs)+len(b.refused) == 0}
	subject := b.words["subject"]
	if subject == "" {
		subject = "before"
		if some {
			subject = "during"
		}
	}
	for _, x := range []Field{
		ChoiceField("subject", "What they show", subject, Options(photo.Subjects())).Need(),
		TextField("place", "Where on the instrument", b.words["place"]).Limit(80).Offer(photoPlaces()),
		TextField("note", "Note", b.words["note"]).Limit(300),
	} {
		form.Words = append(form.Words, x.Marked(b.errs))
	}
	if len(surveys) > 1 {
		form.Words = append(form.Words, ChoiceField("survey", "Belongs to", b.words["survey"], surveys).Marked(b.errs))
	}
	return form
}

func (s *Server) withdrawn(all []photo.Photo, shop *workshop.Shop) Table {
	t := Table{Caption: "Withdrawn photos", Hidden: true, Columns: []Column{Head("Photo"), Head("Why"), Head("Withdrawn")}}
	for _, p := range all {
		if !p.Stands() {
			t.Rows = append(t.Rows, Row{Cells: []Cell{
				{Text: p.What(), Href: photoPath(p.ID)}, {Text: p.WithdrawnWhy}, {Text: Day(p.Withdrawn.In(shop.Location())), Note: p.WithdrawnBy},
			}})
		}
	}
	return t
}

// PhotoPage shows one photo.
type PhotoPage struct {
	Page
	At       string
	Large    *Picture // nil when it was withdrawn
	Facts    Facts
	Ways     []Link
	Withdraw *Field // nil when the reader may not
}

func (s *Server) photo(c *gin.Context) {
	if p := s.openPhoto(c); p != nil {
		s.photoPage(c, http.StatusOK, p, nil)
	}
}

// openPhoto reads the photo of the path, or answers the request itself and
// returns nil.
func (s *Server) openPhoto(c *gin.Context) *photo.Photo {
	err := workshop.May(actor(c), workshop.ActRead)
	if err == nil {
		var p *photo.Photo
		if p, err = s.Read.PhotoByID(c.Request.Context(), domain.PhotoID(number(c, "photo"))); err == nil {
			return p
		}
	}
	s.fail(c, err)
	return nil
}

func (s *Server) photoPage(c *gin.Context, status int, x *photo.Photo, errs domain.Fields) {
	ctx := c.Request.Context()
	f, err := workshop.ReadFolder(ctx, s.Read, x.Job, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	all, err := s.Read.PhotosOfJob(ctx, x.Job)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &PhotoPage{Page: s.frame(c, "Photo: "+x.What(), deskDoor(c)), At: photoPath(x.ID)}
	p.Folio, p.Answer, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), workshop.PhotoAnswer(x), errs
	p.Facts = photoFacts(x, f)
	p.Ways = photoWays(x, all)
	if x.Stands() {
		p.Large = &Picture{
			Title: or(x.Note, x.What()), Text: "Photo of " + f.Instrument.Title() + ": " + x.What(),
			Photo: &Photo{Src: photoSrc(x, "full.jpg", x.Content), Width: x.Width, Height: x.Height},
		}
		if workshop.May(actor(c), workshop.ActWithdraw) == nil {
			why := TextField("why", "Why it is withdrawn", form(c, "why")).Need().Limit(200).Marked(errs)
			p.Withdraw = &why
		}
	}
	s.page(c, status, "photo/show", p)
}

func photoFacts(x *photo.Photo, f *workshop.Folder) Facts {
	facts := Facts{
		{Name: "Shows", Value: x.Subject}, {Name: "Where", Value: or(x.Place, "no place noted")},
		{Name: "Instrument", Value: f.Instrument.Title(), Href: fmt.Sprintf("/instruments/%d", f.Instrument.ID), Note: f.Instrument.Serial},
		{Name: "Job", Value: fmt.Sprintf("tag %d", f.Job.Tag), Href: jobPath(f.Job.ID)},
		{Name: "Kept", Value: DayHour(x.At.In(f.Shop.Location())), Note: x.By},
	}
	if x.Survey != 0 {
		facts = append(facts, Fact{Name: "Belongs to", Value: surveyName(x.Survey, f), Href: fmt.Sprintf("%s/surveys/%d", jobPath(x.Job), x.Survey)})
	}
	if x.Stands() {
		return append(facts, Fact{Name: "Size", Value: fmt.Sprintf("%d by %d px", x.Width, x.Height), Note: fmt.Sprintf("%d kB", (x.Size+999)/1000)})
	}
	return append(facts, Fact{Name: "Withdrawn", Value: DayHour(x.Withdrawn.In(f.Shop.Location())), Note: x.WithdrawnBy})
}

// surveyName is what a survey of the job is called where it is chosen.
func surveyName(id domain.SurveyID, f *workshop.Folder) string {
	for _, x := range f.Surveys {
		if x.ID == id {
			return "the survey of " + DayHour(x.At.In(f.Shop.Location()))
		}
	}
	return "an earlier survey"
}

// photoWays leads to the photos beside this one, in the order of the list.
func photoWays(x *photo.Photo, all []photo.Photo) []Link {
	var order []photo.Photo
	for _, g := range photo.Grouped(all) {
		order = append(order, g.Photos...)
	}
	ways := []Link{{Href: jobPath(x.Job) + "/photos", Text: "All photos of the job"}}
	for i, o := range order {
		if o.ID != x.ID {
			continue
		}
		if i > 0 {
			ways = append(ways, Link{Href: photoPath(order[i-1].ID), Text: "The one before"})
		}
		if i+1 < len(order) {
			ways = append(ways, Link{Href: photoPath(order[i+1].ID), Text: "The next one"})
		}
	}
	return ways
}

// photoFile answers with a picture. Its bytes never change, so the reader's own
// browser may keep them; nobody between may, as they belong to a customer.
func (s *Server) photoFile(size workshop.Size) gin.HandlerFunc {
	return func(c *gin.Context) {
		p := s.openPhoto(c)
		if p == nil {
			return
		}
		data, err := s.Work.PhotoFile(actor(c), p, size)
		if err != nil {
			s.fail(c, err)
			return
		}
		h := c.Writer.Header()
		h.Set("Content-Type", "image/jpeg")
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
		h.Set("ETag", `"`+photo.Name(data)[:32]+`"`)
		http.ServeContent(c.Writer, c.Request, "", p.At, bytes.NewReader(data))
	}
}

func (s *Server) withdrawPhoto(c *gin.Context) {
	p := s.openPhoto(c)
	if p == nil {
		return
	}
	err := s.Work.WithdrawPhoto(keyed(c), actor(c), p.ID, form(c, "why"))
	switch {
	case err == nil:
		s.say(c, "The photo is withdrawn. Its place and the reason stay in the books.")
		Go(c, jobPath(p.Job)+"/photos")
	case domain.KindOf(err) == domain.Invalid:
		s.photoPage(c, http.StatusUnprocessableEntity, p, fieldErrors(err))
	default:
		s.fail(c, err)
	}
}
