package demo

import (
	"math/rand/v2"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain/billing"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// goods are what people come in for without an instrument, with how many at once.
var goods = []struct {
	code string
	most int
}{
	{"humidity-packs", 3}, {"soundhole-humidifier", 1}, {"pack-holder", 1}, {"humidity-packs", 2}, {"logger", 1},
}

// passerby is who buys something over the counter.
type passerby struct {
	s *sim
	r *rand.Rand // its own, so that sales change nothing else
}

// openSales plans what is sold without a job: more in the months of heating.
func (s *sim) openSales() {
	p := &passerby{s: s, r: rand.New(rand.NewPCG(s.seed, 11))}
	for _, d := range s.cal.days {
		of100 := 12
		if m := d.open.In(s.cal.zone).Month(); m >= time.November || m <= time.March {
			of100 = 45
		}
		if chance(p.r, of100) {
			s.at(d.open.Add(time.Duration(p.r.Int64N(int64(d.end.Sub(d.open))))), p.buy)
		}
	}
}

func (p *passerby) buy() {
	s, g := p.s, goods[p.r.IntN(len(goods))]
	n, tender := 1+p.r.IntN(g.most), billing.Tender("card")
	if chance(p.r, 35) {
		tender = billing.Cash
	}
	(&buyer{s: s}).ensure(g.code, stock.Quantity(1000*n))
	for _, part := range s.b.season.Parts {
		if part.Code != g.code {
			continue
		}
		_, err := s.w.Sell(s.ctx, s.desk(), workshop.CounterSale{
			Sale:     billing.Sale{Lines: []billing.SaleLine{{Part: part.ID, Count: decimal.NewFromInt(int64(n))}}},
			Payments: []billing.Payment{{Tender: tender}},
		})
		s.must("sell "+g.code, err)
		return
	}
}
