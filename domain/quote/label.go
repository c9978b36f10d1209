package quote

import "fmt"

// Label names the version as it stands on a page, in JSON and on paper:
// "Q 12 · version 2". A draft has no number yet and is "draft · version 2".
func (q *Quote) Label() string {
	if q.Number == 0 {
		return fmt.Sprintf("draft · version %d", q.Version)
	}
	return fmt.Sprintf("Q %d · version %d", q.Number, q.Version)
}
