package job

import (
	"slices"

	"winterbench/domain"
	"winterbench/templates"
)

// Glues reports whether t joins wood with glue, so that the next person needs
// to know how: every task between the braces and the binding, and any other
// that waits in clamps.
func (t Task) Glues() bool {
	return t.Phase >= templates.PhaseBraces && t.Phase <= templates.PhaseBinding || t.WaitKind == templates.WaitGlue
}

// glues are the glues of a repair bench. Source: common practice, no source.
var glues = []string{"hot hide glue", "fish glue", "liquid hide glue", "aliphatic resin", "epoxy", "cyanoacrylate"}

// backers are what stands behind a closed crack. Source: common practice, no source.
var backers = []string{"spruce cleats, 1.4 mm, across the grain", "cleats of like wood, 1.4 mm", "thin cleats, 0.5 mm", "cloth strip"}

// MadeWords lists the words offered for how the joint of a phase was made; free
// words are as good.
func MadeWords(p templates.Phase) []string {
	out := slices.Clone(glues)
	switch p {
	case templates.PhaseCleats:
		var with []string
		for _, b := range backers {
			with = append(with, b+", hot hide glue", b+", aliphatic resin")
		}
		return append(append(with, "spruce splint, hot hide glue", "spruce splint, fish glue"), out...)
	case templates.PhaseBinding:
		return append(out, "binding cement", "solvent weld")
	}
	return out
}

// NoteMade records how the joint of a task was made, or puts it right, and
// returns what stood there before. It may be noted on a finished task and after
// the hand-over: the words are for whoever opens the joint next, and late is
// better than never. The diary keeps the day.
func (j *Job) NoteMade(id domain.TaskID, made string) (before string, err error) {
	t, err := j.Task(id)
	if err != nil {
		return "", err
	}
	f := domain.Fields{}
	made = domain.Line(f, "made", made, 120, false)
	if err := f.Err(); err != nil {
		return "", err
	}
	if !t.Dropped.IsZero() {
		return "", domain.Conflictf("%s is no longer part of this job", t.Name)
	}
	before, t.Made = t.Made, made
	return before, nil
}

// MadeUnknown lists the finished gluing tasks of which nobody noted how the
// joint was made.
func (j *Job) MadeUnknown() []Task {
	var out []Task
	for _, t := range j.Tasks {
		if !t.Done.IsZero() && t.Glues() && t.Made == "" {
			out = append(out, t)
		}
	}
	return out
}
