package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
)

// PhotoBody is the most bytes that the body with a picture may carry.
const PhotoBody = photo.MaxBytes

// photoDoc is one photo, without its bytes.
type photoDoc struct {
	ID        int64              `json:"id"`
	Job       int64              `json:"job"`
	Survey    *int64             `json:"survey" doc:"The survey it belongs to"`
	Subject   word[subjectWords] `json:"subject"`
	Place     string             `json:"place"`
	Note      string             `json:"note"`
	Shows     string             `json:"shows" doc:"In a sentence, as on the page"`
	Width     int                `json:"width" doc:"Of the large picture, px"`
	Height    int                `json:"height" doc:"px"`
	Size      int                `json:"size" doc:"Of the large picture, bytes"`
	At        time.Time          `json:"at"`
	By        string             `json:"by"`
	Withdrawn *time.Time         `json:"withdrawn" doc:"Since then its pictures are no longer shown"`
	GoneBy    string             `json:"withdrawn_by"`
	GoneWhy   string             `json:"withdrawn_why"`
}

func photoOf(p photo.Photo) photoDoc {
	doc := photoDoc{
		ID: int64(p.ID), Job: int64(p.Job), Subject: word[subjectWords](p.Subject), Place: p.Place, Note: p.Note, Shows: workshop.PhotoAnswer(&p),
		Width: p.Width, Height: p.Height, Size: p.Size, At: p.At.UTC(), By: p.By,
		Withdrawn: moment(p.Withdrawn), GoneBy: p.WithdrawnBy, GoneWhy: p.WithdrawnWhy,
	}
	if p.Survey != 0 {
		id := int64(p.Survey)
		doc.Survey = &id
	}
	return doc
}

// OnPhoto names a photo in the path.
type OnPhoto struct {
	Photo int64 `path:"photo" minimum:"1" doc:"Identity of the photo"`
}

type photoIn struct {
	OnJob
	Subject string `query:"subject" required:"true" doc:"One of: before, during, after, front, back, sides, headstock, label, inside, detail with ruler"`
	Place   string `query:"place" doc:"Where on the instrument"`
	Note    string `query:"note" doc:"At most 300 letters"`
	Survey  int64  `query:"survey" minimum:"0" doc:"Identity of the survey it belongs to"`
	RawBody []byte `contentType:"image/jpeg"`
}

type withdrawIn struct {
	OnPhoto
	Body struct {
		Why string `json:"why" doc:"Stays in the books"`
	}
}

// pictureOut is a picture's bytes, which never change.
type pictureOut struct {
	ContentType  string `header:"Content-Type" doc:"image/jpeg"`
	CacheControl string `header:"Cache-Control" doc:"May be kept for good, by the reader alone"`
	ETag         string `header:"ETag" doc:"Of the content"`
	Body         []byte
}

func (a *API) photoRoutes() {
	o := operation{noun: "photos", act: workshop.ActRead, method: http.MethodGet, path: "/jobs/{job}/photos", id: "list_photos", summary: "Photos of a job, oldest first, also the withdrawn"}
	add(a, o, func(ctx context.Context, in *OnJob) (*many[photoDoc], error) {
		if _, err := a.read.JobByID(ctx, in.job()); err != nil {
			return nil, err
		}
		all, err := a.read.PhotosOfJob(ctx, in.job())
		if err != nil {
			return nil, err
		}
		return whole("", each(all, photoOf)), nil
	})
	add(a, operation{
		noun: "photos", act: workshop.ActPhoto, method: http.MethodPost, path: "/jobs/{job}/photos", id: "add_photo", summary: "Add a photo to a job",
		status: http.StatusCreated, body: PhotoBody, pictures: true,
		about: fmt.Sprintf("The body is the picture itself: JPEG, PNG or WebP, at most %d MB and %d million pixels, told by its content. It is turned upright, brought down to %d px and written anew, so that nothing but the picture is kept. A job has at most %d.",
			PhotoBody>>20, photo.MaxPixels/1_000_000, photo.LongSide, photo.MaxOfJob),
	}, a.addPhoto)
	o.path, o.id, o.summary = "/photos/{photo}", "read_photo", "What a photo shows"
	add(a, o, func(ctx context.Context, in *OnPhoto) (*one[photoDoc], error) {
		return a.photoNow(ctx, domain.PhotoID(in.Photo))
	})
	o.jpeg = true
	o.path, o.id, o.summary = "/photos/{photo}/full.jpg", "read_photo_large", "The large picture of a photo"
	add(a, o, a.picture(workshop.Large))
	o.path, o.id, o.summary = "/photos/{photo}/thumb.jpg", "read_photo_small", "The small picture of a photo"
	add(a, o, a.picture(workshop.Small))
	add(a, operation{noun: "photos", act: workshop.ActWithdraw, method: http.MethodPost, path: "/photos/{photo}/withdraw", id: "withdraw_photo", summary: "Withdraw a photo, with a reason"},
		func(ctx context.Context, in *withdrawIn) (*one[photoDoc], error) {
			if err := a.work.WithdrawPhoto(ctx, by(ctx), domain.PhotoID(in.Photo), in.Body.Why); err != nil {
				return nil, err
			}
			return a.photoNow(ctx, domain.PhotoID(in.Photo))
		})
}

func (a *API) addPhoto(ctx context.Context, in *photoIn) (*one[photoDoc], error) {
	id, err := a.work.AddPhoto(ctx, by(ctx), workshop.NewPhoto{
		Job: in.job(), Survey: domain.SurveyID(in.Survey), Subject: in.Subject, Place: in.Place, Note: in.Note, Raw: in.RawBody,
	})
	if err != nil {
		return nil, err
	}
	p, err := a.read.PhotoByID(ctx, id)
	if err != nil {
		return nil, err
	}
	return made(ctx, 1, fmt.Sprintf("/photos/%d", id), photoOf(*p))
}

// photoNow answers with a photo as it stands. Its version is 2 once it was
// withdrawn, as nothing else of it changes.
func (a *API) photoNow(ctx context.Context, id domain.PhotoID) (*one[photoDoc], error) {
	p, err := a.read.PhotoByID(ctx, id)
	if err != nil {
		return nil, err
	}
	version := 1
	if !p.Stands() {
		version = 2
	}
	return answer(ctx, version, photoOf(*p))
}

func (a *API) picture(size workshop.Size) func(context.Context, *OnPhoto) (*pictureOut, error) {
	return func(ctx context.Context, in *OnPhoto) (*pictureOut, error) {
		p, err := a.read.PhotoByID(ctx, domain.PhotoID(in.Photo))
		if err != nil {
			return nil, err
		}
		data, err := a.work.PhotoFile(by(ctx), p, size)
		if err != nil {
			return nil, err
		}
		tag := `"` + photo.Name(data)[:32] + `"`
		if holdsTag(askedOf(ctx).none, tag) {
			return nil, &notModified{tag: tag}
		}
		return &pictureOut{ContentType: "image/jpeg", CacheControl: "private, max-age=31536000, immutable", ETag: tag, Body: data}, nil
	}
}

// takesPictures describes a body that is a picture.
func takesPictures() *huma.RequestBody {
	body := &huma.RequestBody{Required: true, Description: "The picture", Content: map[string]*huma.MediaType{}}
	for _, kind := range []string{"image/jpeg", "image/png", "image/webp"} {
		body.Content[kind] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
	}
	return body
}

// answersJPEG describes an answer that is a picture.
func answersJPEG() map[string]*huma.Response {
	return map[string]*huma.Response{"200": {
		Description: "The picture",
		Content:     map[string]*huma.MediaType{"image/jpeg": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}},
	}}
}
