package templates

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
)

// Before reports whether a must be finished before b is begun: by phase, by
// b's list of what comes first, or because b needs the hold that a is.
func Before(a, b Template) bool {
	return a.Phase < b.Phase || slices.Contains(b.After, a.Code) ||
		(b.NeedsHold && a.Phase == PhaseHold && b.Phase != PhaseHold)
}

// Sort returns the templates in the order of work. Those that may be done in
// either order stay as they were. In a set that [CheckSet] refuses for a
// cycle, the templates of the cycle keep their places by phase.
func Sort(ts []Template) []Template {
	out := slices.Clone(ts)
	slices.SortStableFunc(out, func(a, b Template) int { return int(a.Phase) - int(b.Phase) })
	for start := 0; start < len(out); {
		end := start + 1
		for end < len(out) && out[end].Phase == out[start].Phase {
			end++
		}
		sortPhase(out[start:end])
		start = end
	}
	return out
}

// sortPhase orders templates of one phase in place: each time the first that
// waits for none of those left.
func sortPhase(ts []Template) {
	for i := range ts {
		next := i + slices.IndexFunc(ts[i:], func(t Template) bool { return !waitsForAny(t, ts[i:]) })
		if next < i {
			return // a cycle; CheckSet names it
		}
		t := ts[next]
		copy(ts[i+1:next+1], ts[i:next])
		ts[i] = t
	}
}

func waitsForAny(t Template, ts []Template) bool {
	return slices.ContainsFunc(ts, func(o Template) bool {
		return o.Code != t.Code && slices.Contains(t.After, o.Code)
	})
}

// Precedence gives, for each code of the set, the codes it waits for, in the
// order of work: those its template names, the hold when it needs one, and
// every code of the nearest earlier phase that the set has. What those wait for
// in turn is not repeated. A code that waits for nothing has an empty list.
func Precedence(ts []Template) map[string][]string {
	sorted := Sort(ts)
	out := make(map[string][]string, len(sorted))
	for _, t := range sorted {
		near := phaseBelow(t.Phase, sorted)
		first := []string{}
		for _, o := range sorted {
			if o.Code == t.Code || slices.Contains(first, o.Code) {
				continue
			}
			held := t.NeedsHold && o.Phase == PhaseHold && t.Phase != PhaseHold
			if o.Phase == near || held || slices.Contains(t.After, o.Code) {
				first = append(first, o.Code)
			}
		}
		out[t.Code] = first
	}
	return out
}

// phaseBelow returns the highest phase below p that ts has, 0 when none.
func phaseBelow(p Phase, ts []Template) Phase {
	var near Phase
	for _, t := range ts {
		if t.Phase < p && t.Phase > near {
			near = t.Phase
		}
	}
	return near
}

// Cycle returns codes that wait for each other in a circle, the first repeated
// at the end, or nil. A template that waits for one of a later phase is such a
// circle, because that one waits for the earlier phase.
func Cycle(ts []Template) []string {
	before := Precedence(ts)
	done := map[string]bool{}
	var path []string
	var walk func(code string) []string
	walk = func(code string) []string {
		if at := slices.Index(path, code); at >= 0 {
			return append(slices.Clone(path[at:]), code)
		}
		if done[code] {
			return nil
		}
		path = append(path, code)
		for _, first := range before[code] {
			if found := walk(first); found != nil {
				return found
			}
		}
		path = path[:len(path)-1]
		done[code] = true
		return nil
	}
	for _, t := range Sort(ts) {
		if found := walk(t.Code); found != nil {
			slices.Reverse(found)
			return found
		}
	}
	return nil
}

// CheckSet checks templates against each other: every code once, every code
// that comes first is there, and none waits for itself, not even in a circle.
// The Invalid error names all of it, by code and field ("CG.after").
func CheckSet(ts []Template) error {
	f := domain.Fields{}
	count := map[string]int{}
	for _, t := range ts {
		count[t.Code]++
	}
	for _, t := range ts {
		if count[t.Code] > 1 {
			f.Add(t.Code+".code", "%d templates have the code %s; each needs its own", count[t.Code], t.Code)
		}
		for _, first := range t.After {
			if count[first] == 0 {
				f.Add(t.Code+".after", "there is no template %s to come first", first)
			}
		}
	}
	if c := Cycle(ts); c != nil {
		f.Add(c[0]+".after", "goes in a circle: %s; take one of them out", strings.Join(c, " before "))
	}
	if err := f.Err(); err != nil {
		return fmt.Errorf("templates together: %w", err)
	}
	return nil
}
