package templates

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// entry is one "key = value" of a file, or one value within an inline table or
// a list.
type entry struct {
	field      string // as Validate names it: labour.low, waits[0].kind
	row        int    // line of the key
	start, end int    // the bytes of the whole expression, to the next one; end is -1 while it is open
	inner      bool   // a value inside another; it has no end
	number     bool   // the value is a whole number
}

// lines knows where each field of a file stands.
type lines []entry

// indexOf reads the file's structure. Its error is a TOML syntax error.
func indexOf(data []byte) (lines, error) {
	var out lines
	p := unstable.Parser{}
	p.Reset(data)
	table, counts := "", map[string]int{}
	for p.NextExpression() {
		e := p.Expression()
		start, row := position(&p, e)
		start = bytes.LastIndexByte(data[:start], '\n') + 1
		out.close(start)
		switch e.Kind {
		case unstable.Table:
			table = keyOf(e)
		case unstable.ArrayTable:
			key := keyOf(e)
			table = fmt.Sprintf("%s[%d]", key, counts[key])
			counts[key]++
		case unstable.KeyValue:
			field := joined(table, keyOf(e))
			out = append(out, entry{field: field, row: row, start: start, end: -1, number: e.Value().Kind == unstable.Integer})
			out = inner(out, &p, e.Value(), field)
			continue
		}
		out = append(out, entry{field: table, row: row, start: start, end: -1})
	}
	if err := p.Error(); err != nil {
		var probe map[string]any
		return nil, cmp.Or(toml.Unmarshal(data, &probe), err) // the decoder also knows the line
	}
	out.close(len(data))
	return out, nil
}

// close ends the last open expression where the next begins.
func (l lines) close(start int) {
	for i := len(l) - 1; i >= 0; i-- {
		if !l[i].inner {
			l[i].end = start
			return
		}
	}
}

// inner adds the values within an inline table or a list.
func inner(out lines, p *unstable.Parser, value *unstable.Node, field string) lines {
	it := value.Children()
	for i := 0; it.Next(); i++ {
		n := it.Node()
		switch {
		case value.Kind == unstable.InlineTable && n.Kind == unstable.KeyValue:
			start, row := position(p, n)
			out = append(out, entry{field: joined(field, keyOf(n)), row: row, start: start, inner: true})
			out = inner(out, p, n.Value(), joined(field, keyOf(n)))
		case value.Kind == unstable.Array && n.Raw.Length > 0:
			at := fmt.Sprintf("%s[%d]", field, i)
			row := p.Shape(n.Raw).Start.Line
			out = append(out, entry{field: at, row: row, start: int(n.Raw.Offset), inner: true})
			out = inner(out, p, n, at)
		}
	}
	return out
}

// position returns the byte and the line of the expression's key.
func position(p *unstable.Parser, e *unstable.Node) (offset, row int) {
	key := e.Key()
	if !key.Next() {
		return int(e.Raw.Offset), 1
	}
	raw := key.Node().Raw
	return int(raw.Offset), p.Shape(raw).Start.Line
}

func keyOf(e *unstable.Node) string {
	var parts []string
	for key := e.Key(); key.Next(); {
		parts = append(parts, string(key.Node().Data))
	}
	return strings.Join(parts, ".")
}

func joined(table, key string) string {
	if table == "" {
		return key
	}
	return table + "." + key
}

// at returns the expression that holds the byte, and the field it is in, which
// may be one within the expression.
func (l lines) at(offset int) (e entry, field string, found bool) {
	for _, c := range l {
		switch {
		case !c.inner && c.start <= offset && offset < c.end:
			e, field, found = c, c.field, true
		case c.inner && found && c.start <= offset:
			field = c.field
		case found:
			return e, field, true
		}
	}
	return e, field, found
}

// upTo returns the end of the expression that l[i] is or lies within.
func (l lines) upTo(i int) int {
	for l[i].inner {
		i--
	}
	return l[i].end
}

// line returns the line of a field, or of the nearest thing around it that
// stands in the file.
func (l lines) line(field string) (int, bool) {
	for field != "" {
		for _, e := range l {
			if e.field == field {
				return e.row, true
			}
		}
		field = field[:max(strings.LastIndexAny(field, ".["), 0)]
	}
	return 0, false
}

// blank overwrites the expression with spaces and keeps the line ends, so that
// all other lines keep their numbers.
func blank(data []byte, e entry) {
	for i := e.start; i < e.end && i < len(data); i++ {
		if data[i] != '\n' {
			data[i] = ' '
		}
	}
}
