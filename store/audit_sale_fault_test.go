package store_test

import "fmt"

const firstSold = `SELECT m.id, m.part_id, l.id, v.number, v.id FROM stock_moves m JOIN invoice_lines l ON l.move_id = m.id JOIN invoices v ON v.id = l.invoice_id
	WHERE m.kind = 'sold' ORDER BY m.id LIMIT 1`

var saleFaults = []fault{
	{"a sale that left no trace on paper", "sold", func(p planter) []string {
		id := p.row(firstSold)
		p.do(1, "UPDATE invoice_lines SET move_id = NULL WHERE id = ?", id[2])
		return []string{fmt.Sprintf("part %d, move %d sold", id[1], id[0]), "no invoice says so"}
	}, nil},
	{"a sale that took less than it billed", "sold", func(p planter) []string { // at half the price, so that the sum stays
		id := p.row(firstSold)
		p.do(1, "UPDATE invoice_lines SET count = CAST(CAST(count AS DECIMAL(12,4)) * 2 AS TEXT), price = CAST(CAST(price AS DECIMAL(12,4)) * 0.5 AS TEXT) WHERE id = ?", id[2])
		return []string{fmt.Sprintf("invoice %d sells", id[3]), fmt.Sprintf("move %d took", id[0])}
	}, nil},
	{"a sale of another part", "sold", func(p planter) []string {
		id := p.row(firstSold)
		other := p.row("SELECT id FROM parts WHERE id <> ? ORDER BY id LIMIT 1", id[1])
		p.do(1, "UPDATE invoice_lines SET part_id = ? WHERE id = ?", other[0], id[2])
		return []string{fmt.Sprintf("invoice %d sells part %d with move %d, which is of part %d", id[3], other[0], id[0], id[1])}
	}, nil},
	{"a sale with another total", "totals", func(p planter) []string {
		id := p.row(firstSold)
		p.do(1, "UPDATE invoices SET total = total + 1 WHERE id = ?", id[4])
		return []string{"sale over the counter", fmt.Sprintf("invoice %d", id[3])}
	}, nil},
	{"money of a sale that is on no invoice of one", "belongs", func(p planter) []string {
		id := p.row("SELECT p.id, p.receipt, v.id, v.number FROM payments p, invoices v WHERE p.job_id IS NULL AND v.job_id IS NOT NULL ORDER BY p.id, v.id LIMIT 1")
		p.do(1, "UPDATE payments SET invoice_id = ? WHERE id = ?", id[2], id[0])
		return []string{fmt.Sprintf("receipt %d (payment %d)", id[1], id[0]), fmt.Sprintf("invoice %d is of a job", id[3])}
	}, []string{"receivables"}},
}
