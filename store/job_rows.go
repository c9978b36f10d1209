package store

import (
	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
)

// jobRow is a row of jobs.
type jobRow struct {
	ID           int64
	Tag          int
	CustomerID   int64
	InstrumentID int64
	ComebackOf   *int64
	Comeback     comebackRow `gorm:"embedded;embeddedPrefix:comeback_"`
	Arrival      arrivalRow  `gorm:"embedded"`
	SurveyedAt   *moment
	QuotedAt     *moment
	ApprovedAt   *moment
	DeclinedAt   *moment
	Promised     *string
	CheckedAt    *moment
	CheckedBy    string
	ReadyAt      *moment
	CollectedAt  *moment
	HandOver     handOverRow `gorm:"embedded"`
	UnclaimedAt  *moment
	Stage        string
	StageSince   moment
	Version      int
}

// arrivalRow is what a job's row holds of its arrival.
type arrivalRow struct {
	ArrivedAt   moment
	ArrivedBy   string
	Complaint   string
	Since       string
	Storage     string
	Heating     string
	Humidifier  string
	Contents    string
	Rack        string
	CaseOpened  bool
	MarksSeenBy string
	SurveyFee   int64
	StorageFee  bool
}

// comebackRow is what a job's row holds of the decision about a comeback. There
// is none while DecidedAt is NULL.
type comebackRow struct {
	Cause     string
	Share     string
	Why       string
	DecidedAt *moment
	DecidedBy string
}

func rowOfComeback(c *job.Comeback) comebackRow {
	if c == nil {
		return comebackRow{}
	}
	return comebackRow{Cause: c.Cause, Share: string(c.Share), Why: c.Why, DecidedAt: atOrNull(c.At), DecidedBy: c.By}
}

func (r comebackRow) comeback() *job.Comeback {
	if r.DecidedAt == nil {
		return nil
	}
	return &job.Comeback{Cause: r.Cause, Share: job.Share(r.Share), Why: r.Why, At: r.DecidedAt.Time, By: r.DecidedBy}
}

// handOverRow is what a job's row holds of how the instrument left.
type handOverRow struct {
	HandedTo     string
	TagShown     bool
	BriefGiven   bool
	Recheck      *string
	HandedNote   string
	UnpaidReason string
	HandedBy     string
}

func (jobRow) TableName() string { return "jobs" }

func (r *jobRow) key() *int64 { return &r.ID }

// rowOfJob makes the row of a job, with the stage that its facts tell.
func rowOfJob(j *job.Job) jobRow {
	return jobRow{
		ID: int64(j.ID), Tag: j.Tag, CustomerID: int64(j.Customer), InstrumentID: int64(j.Instrument),
		ComebackOf: idOrNull(j.ComebackOf), Comeback: rowOfComeback(j.Comeback), Arrival: rowOfArrival(j.Arrival),
		SurveyedAt: atOrNull(j.Surveyed), QuotedAt: atOrNull(j.Quoted), ApprovedAt: atOrNull(j.Approved),
		DeclinedAt: atOrNull(j.Declined), Promised: textOrNull(j.Promised),
		CheckedAt: atOrNull(j.Checked), CheckedBy: j.CheckedBy, ReadyAt: atOrNull(j.Ready), CollectedAt: atOrNull(j.Collected),
		HandOver: rowOfHandOver(j.HandOver), UnclaimedAt: atOrNull(j.Unclaimed),
		Stage: string(job.StageOf(j)), StageSince: at(job.StageSince(j)), Version: j.Version,
	}
}

func rowOfArrival(a job.Arrival) arrivalRow {
	return arrivalRow{
		ArrivedAt: at(a.At), ArrivedBy: a.By, Complaint: a.Complaint, Since: a.Since, Storage: a.Storage, Heating: a.Heating,
		Humidifier: a.Humidifier, Contents: a.Contents, Rack: a.Rack, CaseOpened: a.CaseOpened, MarksSeenBy: a.MarksSeenBy,
		SurveyFee: int64(a.SurveyFee), StorageFee: a.StorageFee,
	}
}

func rowOfHandOver(h job.HandOver) handOverRow {
	return handOverRow{
		HandedTo: h.To, TagShown: h.TagShown, BriefGiven: h.Brief, Recheck: textOrNull(h.Recheck),
		HandedNote: h.Note, UnpaidReason: h.Unpaid, HandedBy: h.By,
	}
}

// job makes the job of a row, without its children.
func (r *jobRow) job() *job.Job {
	return &job.Job{
		ID: domain.JobID(r.ID), Tag: r.Tag, Customer: domain.CustomerID(r.CustomerID), Instrument: domain.InstrumentID(r.InstrumentID),
		Arrival: r.Arrival.arrival(), ComebackOf: orZero[domain.JobID](r.ComebackOf), Comeback: r.Comeback.comeback(),
		Surveyed: r.SurveyedAt.orZero(), Quoted: r.QuotedAt.orZero(), Approved: r.ApprovedAt.orZero(),
		Declined: r.DeclinedAt.orZero(), Promised: orEmpty[domain.Date](r.Promised),
		Checked: r.CheckedAt.orZero(), CheckedBy: r.CheckedBy, Ready: r.ReadyAt.orZero(), Collected: r.CollectedAt.orZero(),
		HandOver: r.HandOver.handOver(), Unclaimed: r.UnclaimedAt.orZero(), Version: r.Version,
	}
}

func (r arrivalRow) arrival() job.Arrival {
	return job.Arrival{
		At: r.ArrivedAt.Time, By: r.ArrivedBy, Complaint: r.Complaint, Since: r.Since, Storage: r.Storage, Heating: r.Heating,
		Humidifier: r.Humidifier, Contents: r.Contents, Rack: r.Rack, CaseOpened: r.CaseOpened, MarksSeenBy: r.MarksSeenBy,
		SurveyFee: money.Amount(r.SurveyFee), StorageFee: r.StorageFee,
	}
}

func (r handOverRow) handOver() job.HandOver {
	return job.HandOver{
		To: r.HandedTo, TagShown: r.TagShown, Brief: r.BriefGiven, Recheck: orEmpty[domain.Date](r.Recheck),
		Note: r.HandedNote, Unpaid: r.UnpaidReason, By: r.HandedBy,
	}
}

// idOrNull makes a column that points at another row; identity 0 is NULL.
func idOrNull[ID ~int64](id ID) *int64 {
	if id == 0 {
		return nil
	}
	n := int64(id)
	return &n
}

// orZero returns the identity, 0 for NULL.
func orZero[ID ~int64](n *int64) ID {
	if n == nil {
		return 0
	}
	return ID(*n)
}

// textOrNull makes a column in which no text is NULL.
func textOrNull[T ~string](t T) *string {
	if t == "" {
		return nil
	}
	s := string(t)
	return &s
}

// orEmpty returns the text, "" for NULL.
func orEmpty[T ~string](s *string) T {
	if s == nil {
		return ""
	}
	return T(*s)
}
