package workshop

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/photo"
)

// PhotoTx is what the use cases of photos write and read in a transaction.
type PhotoTx interface {
	Photo(ctx context.Context, id domain.PhotoID) (*photo.Photo, error)
	PhotosOf(ctx context.Context, id domain.JobID) ([]photo.Photo, error) // oldest first, also the withdrawn
	AddPhoto(ctx context.Context, p *photo.Photo) error
	SavePhoto(ctx context.Context, p *photo.Photo) error // that it was withdrawn, only
	SurveyIsOf(ctx context.Context, id domain.SurveyID, of domain.JobID) (bool, error)
}

// PhotoQueries are the reads of photos.
type PhotoQueries interface {
	PhotoByID(ctx context.Context, id domain.PhotoID) (*photo.Photo, error)
	PhotosOfJob(ctx context.Context, id domain.JobID) ([]photo.Photo, error) // oldest first, also the withdrawn
}

// PictureKeeper holds the bytes of photos outside the database. Names are those
// that photo.Name gives. A name that is not kept is a not-found error.
type PictureKeeper interface {
	// Keep returns only when the picture outlives a power cut; keeping one again
	// changes nothing.
	Keep(name string, data []byte) error
	Read(name string) ([]byte, error)
	Remove(name string) error // one that is not there is gone already
}

// Option changes how a workshop is made.
type Option func(*Workshop)

// WithPictures gives a workshop the place where it keeps photos. Without it,
// photos cannot be added or seen.
func WithPictures(k PictureKeeper) Option { return func(w *Workshop) { w.pictures = k } }

// noPictures is a keeper for a workshop that was given none.
type noPictures struct{}

var errNoPictures = errors.New("the workshop was made without a place for pictures")

func (noPictures) Keep(string, []byte) error   { return errNoPictures }
func (noPictures) Remove(string) error         { return errNoPictures }
func (noPictures) Read(string) ([]byte, error) { return nil, errNoPictures }

// NewPhoto is a picture as somebody sends it.
type NewPhoto struct {
	Job     domain.JobID
	Survey  domain.SurveyID // 0: it belongs to none
	Subject string          // one of photo.Subjects
	Place   string
	Note    string
	Raw     []byte // the file: JPEG, PNG or WebP
}

// AddPhoto checks a picture, makes it over and keeps it with a job. The files
// are written before the row: when it returns, the photo is there; when it
// fails, a file that nothing names may stay, which does no harm. A picture that
// the job has already is a conflict.
func (w *Workshop) AddPhoto(ctx context.Context, by domain.Actor, in NewPhoto) (domain.PhotoID, error) {
	p := photo.Photo{Job: in.Job, Survey: in.Survey, Subject: in.Subject, Place: in.Place, Note: in.Note, By: by.Name}
	if err := May(by, ActPhoto); err != nil {
		return 0, err
	}
	if err := p.Check(); err != nil {
		return 0, err
	}
	if err := w.store.InTx(ctx, func(tx Tx) error { return takesPhoto(ctx, tx, &p) }); err != nil {
		return 0, err // before the work of opening it
	}
	if err := w.keepPicture(ctx, &p, in.Raw); err != nil {
		return 0, err
	}
	id, err := w.do(ctx, by, ActPhoto, func(tx Tx, at time.Time) (int64, error) {
		n := p
		n.At = at
		if err := takesPhoto(ctx, tx, &n); err != nil {
			return 0, err
		}
		if err := roomFor(ctx, tx, &n); err != nil {
			return 0, err
		}
		if err := tx.AddPhoto(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, n.Job, by, at, "added a photo: "+n.What(), "", n.Note)
	})
	return domain.PhotoID(id), err
}

// takesPhoto locks the job of a photo and checks that it and the survey are there.
func takesPhoto(ctx context.Context, tx Tx, p *photo.Photo) error {
	if _, err := tx.Job(ctx, p.Job); err != nil || p.Survey == 0 {
		return err
	}
	theirs, err := tx.SurveyIsOf(ctx, p.Survey, p.Job)
	if err == nil && !theirs {
		return domain.NotFoundf("this job has no survey %d", p.Survey)
	}
	return err
}

// roomFor refuses a photo that the job has already, and one too many.
func roomFor(ctx context.Context, tx Tx, p *photo.Photo) error {
	all, err := tx.PhotosOf(ctx, p.Job)
	if err != nil {
		return err
	}
	all = photo.Standing(all)
	for _, o := range all {
		if o.Content == p.Content {
			return domain.Conflictf("this picture is on the job already (%s)", o.What())
		}
	}
	if len(all) >= photo.MaxOfJob {
		return domain.Conflictf("this job has %d photos already, the most there may be; withdraw one that shows nothing new", len(all))
	}
	return nil
}

// keepPicture makes a picture over, one at a time as each takes much memory,
// and keeps both sizes.
func (w *Workshop) keepPicture(ctx context.Context, p *photo.Photo, raw []byte) error {
	select {
	case w.opening <- struct{}{}:
	case <-ctx.Done():
		return fmt.Errorf("wait for other pictures: %w", context.Cause(ctx))
	}
	made, err := photo.Prepare(raw)
	<-w.opening
	if err != nil {
		return err
	}
	p.Content, p.Thumb = photo.Name(made.Full), photo.Name(made.Thumb)
	p.Width, p.Height, p.Size = made.Width, made.Height, len(made.Full)
	if err := w.pictures.Keep(p.Content, made.Full); err != nil {
		return err
	}
	return w.pictures.Keep(p.Thumb, made.Thumb)
}

// WithdrawPhoto takes a photo out of sight. Its row stays, with the reason.
func (w *Workshop) WithdrawPhoto(ctx context.Context, by domain.Actor, id domain.PhotoID, why string) error {
	_, err := w.do(ctx, by, ActWithdraw, func(tx Tx, at time.Time) (int64, error) {
		p, err := tx.Photo(ctx, id)
		if err != nil {
			return 0, err
		}
		if err := p.Withdraw(by.Name, why, at); err != nil {
			return 0, err
		}
		if err := tx.SavePhoto(ctx, p); err != nil {
			return 0, err
		}
		return int64(id), note(ctx, tx, p.Job, by, at, "withdrew a photo: "+p.What(), "", p.WithdrawnWhy)
	})
	return err
}

// Size is one of the two sizes of a photo.
type Size bool

// The sizes.
const (
	Small Size = false
	Large Size = true
)

// PhotoFile returns a photo's picture as a JPEG file. One that was withdrawn is
// a not-found error for everybody.
func (w *Workshop) PhotoFile(by domain.Actor, p *photo.Photo, size Size) ([]byte, error) {
	if err := May(by, ActRead); err != nil {
		return nil, err
	}
	if !p.Stands() {
		return nil, domain.NotFoundf("this photo was withdrawn")
	}
	if size == Large {
		return w.pictures.Read(p.Content)
	}
	return w.pictures.Read(p.Thumb)
}

// PhotosAnswer says in a sentence what the photos of a job show.
func PhotosAnswer(all []photo.Photo) string {
	stand := photo.Standing(all)
	if len(stand) == 0 {
		return "No photo yet. Take the first before anything is done to it."
	}
	groups := photo.Grouped(stand)
	text := "One photo: " + groups[0].Subject + "."
	if len(stand) > 1 {
		var parts []string
		for _, g := range groups {
			parts = append(parts, fmt.Sprintf("%d %s", len(g.Photos), g.Subject))
		}
		text = fmt.Sprintf("%d photos: %s.", len(stand), strings.Join(parts, ", "))
	}
	if groups[0].Subject != "before" {
		text += " None is kept as how it came in."
	}
	return text
}

// PhotoAnswer says in a sentence what one photo shows.
func PhotoAnswer(p *photo.Photo) string {
	if !p.Stands() {
		return "Withdrawn by " + p.WithdrawnBy + ": " + p.WithdrawnWhy + "."
	}
	text := photoSense[p.Subject]
	if text == "" {
		text = "It shows the " + p.Subject
	}
	if p.Place != "" {
		text += ": " + p.Place
	}
	return text + "."
}

var photoSense = map[string]string{
	"before": "As it came in", "during": "While it was worked on", "after": "As the work left it", "sides": "It shows the sides",
	"inside": "A look inside", "detail with ruler": "A detail with a ruler beside it",
}
