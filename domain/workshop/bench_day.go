package workshop

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// usualDay is the minutes of a day of which no hours are known. Our default, no source.
const usualDay = 8 * 60

// DayMinutes is how many minutes of work are left today for a person, or for all who
// work at the bench with who 0. When none are left, as in the evening, it is those of
// the next day with hours within a week; without any hours a day is 8 hours.
func DayMinutes(who domain.StaffID, staff []Staff, shop *Shop, now time.Time) int {
	at := now.In(shop.Location())
	for ahead := range 7 {
		day := domain.DateOf(at).AddDays(ahead)
		from := 0
		if ahead == 0 {
			from = at.Hour()*60 + at.Minute()
		}
		if n := minutesOn(who, staff, shop, day, from); n > 0 {
			return n
		}
	}
	return usualDay
}

// minutesOn adds up the hours of a day from a minute of it on.
func minutesOn(who domain.StaffID, staff []Staff, shop *Shop, day domain.Date, from int) int {
	n, anybody := 0, false
	for _, s := range staff {
		if who != 0 && s.ID != who || who == 0 && (!s.Active || !slices.Contains(s.Roles, domain.Bench)) {
			continue
		}
		anybody = true
		n += spanMinutes(s.Week(shop), append(shop.ClosedPeriods(day, day), periods(s.Away)...), day, from)
	}
	if !anybody {
		n = spanMinutes(shop.Week(), shop.ClosedPeriods(day, day), day, from)
	}
	return n
}

func spanMinutes(week queue.Week, off []queue.Period, day domain.Date, from int) int {
	if slices.ContainsFunc(off, func(p queue.Period) bool { return p.From <= day && day <= p.To }) {
		return 0
	}
	n := 0
	for _, s := range week[day.Time(time.UTC).Weekday()] {
		n += max(0, s.To-max(s.From, from))
	}
	return n
}

// DayTasks is the head of the ordered free work that fills so many minutes, one task at
// least: the day's tasks.
func DayTasks(free []Ordered, minutes int) []Ordered {
	for i, o := range free {
		if minutes <= 0 && i > 0 {
			return free[:i]
		}
		minutes -= max(1, o.Task.Minutes.Typical-o.Clocked)
	}
	return free
}

// DayTask is one of the day's tasks with its template.
type DayTask struct {
	TaskRow
	Template templates.Template
}

// Need is a material of the day's tasks, added up.
type Need struct {
	Code     string // of the part; "" when it is not kept in stock
	Name     string // as the parts list has it, else as the template does
	Quantity decimal.Decimal
	Unit     string
	Tags     []int       // that want it, in order
	Part     *stock.Part // on the parts list; nil when it is not
	Supplies bool        // used up and not billed by the piece
}

// DayNeeds adds up what the day's tasks use, by part and unit: what is billed first,
// then by name. The quantities are those of the templates for the quantities of the
// tasks.
func DayNeeds(tasks []DayTask, parts []stock.Part) []Need {
	var out []Need
	for _, t := range tasks {
		for _, m := range t.Template.MaterialsFor(max(t.Task.Quantity, 1)) {
			i := slices.IndexFunc(out, func(n Need) bool { return n.Unit == m.Unit && sameNeed(n, m) })
			if i < 0 {
				i, out = len(out), append(out, Need{Code: m.Part, Name: m.Name, Unit: m.Unit, Supplies: m.Kind == templates.KindSupplies})
			}
			out[i].Quantity = out[i].Quantity.Add(m.Quantity)
			if !slices.Contains(out[i].Tags, t.Tag) {
				out[i].Tags = append(out[i].Tags, t.Tag)
			}
		}
	}
	for i := range out {
		slices.Sort(out[i].Tags)
		if k := slices.IndexFunc(parts, func(p stock.Part) bool { return p.Code == out[i].Code && p.Code != "" }); k >= 0 {
			out[i].Part, out[i].Name = &parts[k], parts[k].Name
		}
	}
	slices.SortStableFunc(out, func(a, b Need) int {
		return cmp.Or(cmp.Compare(supplyRank(a), supplyRank(b)), cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), cmp.Compare(a.Unit, b.Unit))
	})
	return out
}

func sameNeed(n Need, m templates.Material) bool {
	if n.Code != "" || m.Part != "" {
		return n.Code == m.Part
	}
	return strings.EqualFold(n.Name, m.Name)
}

func supplyRank(n Need) int {
	if n.Supplies {
		return 1
	}
	return 0
}

// DayTools lists the tools of the day's tasks, each once, by name.
func DayTools(tasks []DayTask) []string {
	var out []string
	for _, t := range tasks {
		for _, tool := range t.Template.Tools {
			if !slices.Contains(out, tool) {
				out = append(out, tool)
			}
		}
	}
	slices.Sort(out)
	return out
}
