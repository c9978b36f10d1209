package web

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
)

func init() { moreSamples = append(moreSamples, photoSamples) }

func photoSamples() map[string]Paged {
	x := photo.Photo{
		ID: 3, Job: 1, Subject: "before", Place: "treble lower bout", Note: "ruler in frame", Content: photo.Name([]byte("a")), Thumb: photo.Name([]byte("b")),
		Width: 2400, Height: 1800, Size: 512_000, At: time.Date(2026, 12, 3, 15, 0, 0, 0, time.UTC), By: "Runa",
	}
	list, show := sampleFrame("Photos of Orrin No. 3"), sampleFrame("Photo: before, treble lower bout")
	list.Answer, show.Answer = workshop.PhotosAnswer([]photo.Photo{x}), workshop.PhotoAnswer(&x)
	list.Errors = domain.Fields{"photos": "choose at least one picture, or take one", "place": "must have at most 80 letters"}
	show.Errors = domain.Fields{"why": "is needed"}
	why := TextField("why", "Why it is withdrawn", "").Need().Marked(show.Errors)
	b := batch{words: map[string]string{"subject": "after"}, files: 3, added: 1, errs: list.Errors}
	b.refuse("IMG_1.HEIC", "this is a HEIC picture: set the phone to send JPEG")
	return map[string]Paged{
		"photo/list": &PhotosPage{
			Page: list, At: "/jobs/1/photos", Job: Link{Href: "/jobs/1", Text: "Back to the job"}, Groups: []PhotoGroup{{Name: "Before", Photos: []Thumb{thumbOf(&x, x.Place, "Thu 3 Dec, Runa")}}},
			Form: photosForm(b, true, []Option{{Label: "no survey"}, {Value: "2", Label: "the survey of Thu 3 Dec, 15:00"}}), Kept: b.kept(), Refused: b.refused,
			Withdrawn: Table{Caption: "Withdrawn photos", Hidden: true, Columns: []Column{Head("Photo")}, Rows: []Row{Line("label")}},
		},
		"photo/show": &PhotoPage{
			Page: show, At: "/photos/3", Withdraw: &why, Facts: Facts{{Name: "Where", Value: x.Place}}, Ways: []Link{{Href: "/jobs/1/photos", Text: "All photos of the job"}},
			Large: &Picture{Title: x.Note, Text: "Photo of Orrin No. 3: before, treble lower bout", Photo: &Photo{Src: photoSrc(&x, "full.jpg", x.Content), Width: 2400, Height: 1800}},
		},
	}
}

// shot is a small picture of one grey.
func shot(t *testing.T, grey uint8) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 400, 300))
	for i := range img.Pix {
		img.Pix[i] = grey
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

type file struct {
	field, name, kind string
	data              []byte
}

// upload sends a form with files as a browser does: fields first.
func (s *openShop) upload(who domain.Actor, path string, words url.Values, files ...file) *httptest.ResponseRecorder {
	s.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, values := range words {
		for _, v := range values {
			s.must(w.WriteField(name, v))
		}
	}
	for _, f := range files {
		h := textproto.MIMEHeader{"Content-Disposition": {fmt.Sprintf(`form-data; name=%q; filename=%q`, f.field, f.name)}, "Content-Type": {f.kind}}
		part, err := w.CreatePart(h)
		s.must(err)
		_, err = part.Write(f.data)
		s.must(err)
	}
	s.must(w.Close())
	return s.sendBody(who, path, w.FormDataContentType(), &body)
}

func (s *openShop) sendBody(who domain.Actor, path, kind string, body *bytes.Buffer) *httptest.ResponseRecorder {
	s.Helper()
	r := httptest.NewRequest(http.MethodPost, path, body)
	r.Header.Set("Content-Type", kind)
	if who.Staff != 0 {
		r.AddCookie(&http.Cookie{Name: s.sessions.Cookie.Name, Value: s.session(who)})
	}
	out := httptest.NewRecorder()
	s.handler.ServeHTTP(out, r)
	return out
}

func of(subject, place string) url.Values {
	return url.Values{"key": {NewKey()}, "subject": {subject}, "place": {place}, "note": {"ruler in frame"}}
}

func jpegFile(name string, data []byte) file {
	return file{field: "photos", name: name, kind: "image/jpeg", data: data}
}

// elements counts the elements of a name.
func elements(n *html.Node, name string) int {
	count := 0
	for k := range n.Descendants() {
		if k.Type == html.ElementNode && k.Data == name {
			count++
		}
	}
	return count
}

func TestPhotosFromTheFormToThePage(t *testing.T) {
	s := newShop(t)
	id := s.arrived()
	at := jobPath(id) + "/photos"
	page := s.get(at)
	form := find(page, "enctype", "multipart/form-data")
	camera, files := find(page, "name", "camera"), find(page, "name", "photos")
	if form == nil || attr(form, "action") != at || attr(camera, "capture") != "environment" || !hasAttr(files, "multiple") || attr(files, "accept") != accepted {
		t.Fatalf("the form is not as wanted: %v %v %v", form, camera, files)
	}
	none := file{field: "camera", kind: "application/octet-stream"}
	w := s.upload(s.owner, at, of("before", "centre seam"), none, jpegFile("a.jpg", shot(t, 50)), jpegFile("b.jpg", shot(t, 60)))
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != at {
		t.Fatalf("got %d to %q, want back to the photos\n%s", w.Code, w.Header().Get("Location"), plain(w.Body.String()))
	}
	page = s.get(at)
	if text := textOf(page); elements(find(page, "id", "main"), "img") != 2 || !strings.Contains(text, "2 photos: 2 before.") || !strings.Contains(text, "Before centre seam") {
		t.Errorf("the page has not both photos: %s", text)
	}
	img := find(page, "alt", "Photo: before, centre seam")
	if img == nil || attr(img, "width") != "320" || attr(img, "height") != "240" {
		t.Fatalf("the small picture is not as wanted: %+v", img)
	}
	one := s.get("/photos/1")
	if text := textOf(one); !strings.Contains(text, "As it came in: centre seam.") || !strings.Contains(text, "400 by 300 px") || !strings.Contains(text, "ruler in frame") {
		t.Errorf("the photo's page says %s", text)
	}
	if large := find(one, "alt", "Photo of Orrin No. 3, steel-string guitar: before, centre seam"); large == nil || !strings.HasPrefix(attr(large, "src"), "/photos/1/full.jpg?v=") {
		t.Errorf("the large picture is not there: %+v", large)
	}
	if find(one, "href", "/photos/2") == nil || find(one, "href", at) == nil || find(one, "href", jobPath(id)) == nil {
		t.Error("the photo's page does not lead on")
	}
	job := s.get(jobPath(id))
	if section := find(job, "id", "photos"); elements(section, "img") != 2 || find(section, "href", at) == nil {
		t.Error("the job's page does not show its photos")
	}
}

func TestGoodFilesOfABatchAreKept(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/photos"
	words := of("during", "")
	var bomb bytes.Buffer
	s.must(png.Encode(&bomb, image.NewGray(image.Rect(0, 0, 8000, 8000))))
	batch := []file{
		jpegFile("one.jpg", shot(t, 1)),
		jpegFile("phone.jpg", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")),
		jpegFile("half.jpg", shot(t, 2)[:700]),
		{field: "photos", name: "<b>page.svg", kind: "image/jpeg", data: []byte("<svg onload='x'/>")},
		jpegFile("bomb.png", bomb.Bytes()),
		jpegFile("two.jpg", shot(t, 3)),
		jpegFile("again.jpg", shot(t, 1)),
	}
	w := s.upload(s.owner, at, words, batch...)
	if w.Code != http.StatusUnprocessableEntity {
		t.Fatalf("got %d, want 422", w.Code)
	}
	checkHTML(t, w.Body.Bytes())
	text := plain(w.Body.String())
	for _, want := range []string{
		"2 of 7 pictures are kept.", "phone.jpg : this is a HEIC picture: set the phone to send JPEG", "half.jpg : the file is damaged or was cut off",
		"<b>page.svg : this is no picture", "bomb.png : the picture is 8000 by 8000 pixels, 64 million; send at most 50 million",
		"again.jpg : this picture is on the job already (during)", "2 photos: 2 during.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in %s", want, text)
		}
	}
	w = s.upload(s.owner, at, words, batch...) // the same form sent again
	if text := plain(w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(text, "2 photos: 2 during.") {
		t.Errorf("sent again: got %d and %s, want the same two", w.Code, text)
	}
}

func TestWhatTheFormRefuses(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/photos"
	many := make([]file, mostFiles+1)
	for i := range many {
		many[i] = jpegFile(fmt.Sprintf("%d.jpg", i), shot(t, uint8(i)))
	}
	large := append(shot(t, 9), make([]byte, photo.MaxBytes)...)
	cases := []struct {
		name  string
		words url.Values
		files []file
		want  string
	}{
		{"no file", of("before", ""), nil, "choose at least one picture"},
		{"an unknown subject", of("moon", ""), []file{jpegFile("a.jpg", shot(t, 70))}, "What they show must be one of"},
		{"no subject", url.Values{}, []file{jpegFile("a.jpg", shot(t, 70))}, "What they show must be one of"},
		{"a long place", of("before", strings.Repeat("x", 81)), []file{jpegFile("a.jpg", shot(t, 70))}, "at most 80 letters"},
		{"a large file", of("before", ""), []file{jpegFile("large.jpg", large), jpegFile("b.jpg", shot(t, 71))}, "1 of 2 pictures are kept. Not kept: large.jpg : the file has more than 20 MB"},
		{"too many", of("before", ""), many, "20.jpg : send at most 20 at once"},
	}
	for _, c := range cases {
		w := s.upload(s.owner, at, c.words, c.files...)
		if text := plain(w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(text, c.want) {
			t.Errorf("%s: got %d and %s, want %q", c.name, w.Code, text, c.want)
		}
		checkHTML(t, w.Body.Bytes())
	}
	if w := s.sendBody(s.owner, at, "application/x-www-form-urlencoded", bytes.NewBufferString("subject=before")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form without files: got %d, want 422", w.Code)
	}
	cut := bytes.NewBufferString("--x\r\nContent-Disposition: form-data; name=\"subject\"\r\n\r\nbefore\r\n--x\r\nContent-Disposition: form-data; name=\"photos\"; filename=\"a.jpg\"\r\n\r\n\xFF\xD8\xFF")
	if w := s.sendBody(s.owner, at, "multipart/form-data; boundary=x", cut); w.Code != http.StatusUnprocessableEntity || !strings.Contains(plain(w.Body.String()), "cut off on their way") {
		t.Errorf("a form cut off: got %d and %s", w.Code, plain(w.Body.String()))
	}
	if w := s.upload(s.owner, "/jobs/99/photos", of("before", ""), jpegFile("a.jpg", shot(t, 1))); w.Code != http.StatusNotFound {
		t.Errorf("no such job: got %d, want 404", w.Code)
	}
}

func TestPicturesAreForThoseWhoAreSignedIn(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/photos"
	s.upload(s.owner, at, of("label", ""), jpegFile("a.jpg", shot(t, 5)))
	for _, path := range []string{"/photos/1/full.jpg", "/photos/1/thumb.jpg", "/photos/1", at} {
		if w := s.as(domain.Actor{}, path, nil, ""); w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/sign-in") {
			t.Errorf("%s without sign-in: got %d, want the sign-in page", path, w.Code)
		}
	}
	if w := s.sendBody(domain.Actor{}, at, "multipart/form-data; boundary=x", &bytes.Buffer{}); w.Code != http.StatusUnauthorized {
		t.Errorf("sent without sign-in: got %d, want 401", w.Code)
	}
	for _, hat := range domain.Roles() {
		w := s.as(s.person("with "+string(hat), hat), "/photos/1/full.jpg", nil, "")
		h := w.Header()
		if w.Code != http.StatusOK || h.Get("Content-Type") != "image/jpeg" || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "private, max-age=31536000, immutable" {
			t.Errorf("%s: got %d with %v", hat, w.Code, h)
		}
		if _, err := jpeg.Decode(w.Body); err != nil {
			t.Errorf("%s: the picture cannot be read: %v", hat, err)
		}
	}
	for _, path := range []string{
		"/photos/0/full.jpg", "/photos/99/full.jpg", "/photos/-1/thumb.jpg", "/photos/1/../../shop.db", "/photos/..%2f..%2fshop.db/full.jpg", "/photos/1/..%2fshop.db", "/photos/1/full.jpg/..", "/photos/x/full.jpg",
	} {
		if w := s.as(s.owner, path, nil, ""); w.Code == http.StatusOK {
			t.Errorf("%s: got %d and %d bytes", path, w.Code, w.Body.Len())
		}
	}
}

func TestTheOwnerWithdrawsAPhoto(t *testing.T) {
	s := newShop(t)
	at := jobPath(s.arrived()) + "/photos"
	bench := s.person("Runa", domain.Bench)
	if w := s.upload(bench, at, of("inside", "bass lower bout"), jpegFile("a.jpg", shot(t, 5))); w.Code != http.StatusSeeOther {
		t.Fatalf("the bench adds: got %d", w.Code)
	}
	if page := s.as(bench, "/photos/1", nil, "").Body.String(); strings.Contains(page, "/withdraw") {
		t.Error("the bench is offered to withdraw a photo")
	}
	if w := s.as(bench, "/photos/1/withdraw", values("why", "mine"), ""); w.Code != http.StatusForbidden {
		t.Errorf("the bench withdraws: got %d, want 403", w.Code)
	}
	w := s.as(s.owner, "/photos/1/withdraw", values("why", ""), "")
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(plain(w.Body.String()), "Why it is withdrawn is needed") {
		t.Errorf("without a reason: got %d and %s", w.Code, plain(w.Body.String()))
	}
	if to := s.post("/photos/1/withdraw", "why", "another guitar"); to != at {
		t.Errorf("leads to %s, want %s", to, at)
	}
	for _, path := range []string{"/photos/1/full.jpg", "/photos/1/thumb.jpg"} {
		if w := s.as(s.owner, path, nil, ""); w.Code != http.StatusNotFound || w.Header().Get("Cache-Control") != "no-store" {
			t.Errorf("%s: got %d with %v, want 404 that nobody keeps", path, w.Code, w.Header())
		}
	}
	page := s.get("/photos/1")
	if text := textOf(page); elements(find(page, "id", "main"), "img") != 0 || !strings.Contains(text, "Withdrawn by Ilse: another guitar.") {
		t.Errorf("the page says %s", text)
	}
	list := s.get(at)
	if text := textOf(list); elements(find(list, "id", "main"), "img") != 0 || !strings.Contains(text, "1 photo is no longer shown") || !strings.Contains(text, "another guitar") {
		t.Errorf("the list says %s", text)
	}
}

func TestAPhotoBelongsToASurvey(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	at := jobPath(id) + "/photos"
	all, err := s.store.SurveysOf(t.Context(), id)
	s.must(err)
	if choice := find(s.get(at), "name", "survey"); elements(choice, "option") != 2 {
		t.Fatal("the form does not offer the survey")
	}
	words := of("detail with ruler", "centre seam")
	words.Set("survey", fmt.Sprint(all[0].ID))
	if w := s.upload(s.owner, at, words, jpegFile("a.jpg", shot(t, 5))); w.Code != http.StatusSeeOther {
		t.Fatalf("got %d: %s", w.Code, plain(w.Body.String()))
	}
	if find(s.get("/photos/1"), "href", fmt.Sprintf("%s/surveys/%d", jobPath(id), all[0].ID)) == nil {
		t.Error("the photo does not lead to its survey")
	}
	for _, wrong := range []string{"99", "x", "-1"} {
		words.Set("survey", wrong)
		if w := s.upload(s.owner, at, words, jpegFile("b.jpg", shot(t, 6))); w.Code < 400 {
			t.Errorf("survey %s: got %d, want a refusal", wrong, w.Code)
		}
	}
}
