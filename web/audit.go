package web

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/audit"
	"winterbench/domain/workshop"
)

const auditPath = booksPath + "/audit"

// auditRoutes registers the audit of the books.
func (s *Server) auditRoutes(r *gin.RouterGroup) {
	r.GET(auditPath, s.auditPage)
	r.POST(auditPath, s.runAudit)
}

// AuditPage is the audit of the books: its rules, and after it ran what it found.
type AuditPage struct {
	Page
	Ran     bool
	Action  string
	Rules   Table
	Breaks  Table
	LeftOut int
	Took    string
}

func (s *Server) auditPage(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActReadBalance); err != nil {
		s.fail(c, err)
		return
	}
	p := &AuditPage{Page: s.frame(c, "Audit", domain.Owner)}
	fillAudit(p, nil)
	s.page(c, http.StatusOK, "books/audit", p)
}

// runAudit shows what it found at once: it keeps nothing, so sending it again does no
// harm.
func (s *Server) runAudit(c *gin.Context) {
	r, err := workshop.AuditBooks(c.Request.Context(), s.Read, actor(c))
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &AuditPage{Page: s.frame(c, "Audit", domain.Owner)}
	fillAudit(p, &r)
	s.page(c, http.StatusOK, "books/audit", p)
}

// fillAudit fills the page; nil before an audit ran.
func fillAudit(p *AuditPage, r *audit.Report) {
	p.Action = auditPath
	p.Answer = "The books can be held against " + strconv.Itoa(len(audit.Rules())) + " rules; nothing is changed by it."
	p.Rules = Table{Caption: "Rules", Columns: []Column{{Head: "Rule"}, {Head: "Looked at", Number: true}, {Head: "Broken", Number: true}, {Head: "What must be so"}}}
	if r == nil {
		p.Rules.Columns = []Column{{Head: "Rule"}, {Head: "What must be so"}, {Head: "Why"}}
		for _, rule := range audit.Rules() {
			p.Rules.Rows = append(p.Rules.Rows, Row{Cells: []Cell{{Text: rule.Code}, {Text: rule.Holds}, {Text: rule.Why}}})
		}
		return
	}
	p.Ran, p.Answer, p.LeftOut = true, workshop.AuditAnswer(*r), r.LeftOut
	p.Took = strconv.FormatFloat(r.Took.Seconds(), 'f', 1, 64) + " s"
	for _, l := range r.Lines {
		p.Rules.Rows = append(p.Rules.Rows, Row{Cells: []Cell{{Text: l.Code}, {Text: strconv.Itoa(l.Looked)}, {Text: strconv.Itoa(l.Breaks)}, {Text: l.Holds}}})
	}
	p.Breaks = Table{Caption: "What is not as it must be", Columns: []Column{{Head: "Rule"}, {Head: "What is wrong"}}}
	for _, b := range r.Breaks {
		cell := Cell{Text: b.Text}
		if b.Job != 0 {
			cell.Href = jobPath(b.Job)
		}
		p.Breaks.Rows = append(p.Breaks.Rows, Row{Cells: []Cell{{Text: b.Rule}, cell}})
	}
}
