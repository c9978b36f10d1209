package air

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
)

var later = time.Date(2026, 12, 31, 0, 0, 0, 0, time.UTC)

// rowsText shows rows as "moment RH temperature".
func rowsText(f *File) []string {
	var out []string
	for _, r := range f.Rows {
		s := r.At.Format(time.RFC3339) + " " + r.RH.String()
		if r.Celsius != nil {
			s += " " + r.Celsius.String()
		}
		out = append(out, s)
	}
	return out
}

func utf16le(s string) string {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

func TestReadFile(t *testing.T) {
	zone := mustZone(t, "America/Toronto") // UTC-5 in January
	want := []string{"2026-01-20T14:00:00Z 41.5 20.5", "2026-01-20T14:10:00Z 41 20"}
	for name, file := range map[string]string{
		"commas, ISO":                     "Time,RH,Temperature\n2026-01-20 09:00:00,41.5,20.5\n2026-01-20 09:10:00,41,20\n",
		"semicolons, decimal comma":       "Date/Time;Humidity [%];Temp [°C]\n20.01.2026 09:00;41,5;20,5\n20.01.2026 09:10;41,0;20,0\n",
		"tabs, day first":                 "Date\tTime\tRelative humidity\tTemperature\n20/01/2026\t09:00\t41.5\t20.5\n20/01/2026\t09:10\t41\t20\n",
		"month first, half days":          "Date,Time,Temp,Humidity\n1/20/2026,9:00 AM,20.5,41.5\n1/20/26,9:10:00 am,20.0,41 %\n",
		"mark, CRLF, quotes":              "\ufeff\"Timestamp\",\"%RH\",\"Celsius\"\r\n\"2026-01-20T09:00\",\"41,5\",\"20,5\"\r\n\"2026-01-20T09:10\",\"41\",\"20\"\r\n",
		"old Mac line ends":               "Time,RH,Temp\r2026-01-20 09:00,41.5,20.5\r2026-01-20 09:10,41,20",
		"UTF-16":                          utf16le("Time\tRH\tTemp\r\n2026-01-20 09:00\t41.5\t20.5\r\n2026-01-20 09:10\t41\t20\r\n"),
		"Latin-1":                         "Time;RH;Temp \xb0C\n2026-01-20 09:00;41,5;20,5\n2026-01-20 09:10;41;20\n",
		"Fahrenheit by name":              "Time,RH,Temp °F\n2026-01-20 09:00,41.5,68.9\n2026-01-20 09:10,41,68\n",
		"Fahrenheit by value":             "Time,RH,Temp\n2026-01-20 09:00,41.5,68.9 °F\n2026-01-20 09:10,41,20 C\n",
		"UTC by name":                     "Time (UTC),RH,Temp\n2026-01-20 14:00,41.5,20.5\n2026-01-20 14:10,41,20\n",
		"offsets":                         "Time,RH,Temp\n2026-01-20T14:00:00Z,41.5,20.5\n2026-01-20T15:10:00+01:00,41,20\n",
		"newest first":                    "Time,RH,Temp\n2026-01-20 09:10,41,20\n2026-01-20 09:00,41.5,20.5\n",
		"talk before and columns between": "Logger 12\nSerial;A1\n\nNo,Date_Time,Dew point °C,Abs. humidity g/m3,rel_humidity,temp_c\n1,2026-01-20 09:00,8,7,41.5,20.5\n2,2026-01-20 09:10,8,7,41,20\n\n,,\n",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := ReadFile([]byte(file), zone, AnyOrder, later)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, rowsText(f)); diff != "" || f.Wrong != 0 || f.Twice != 0 {
				t.Errorf("(-want +got)\n%s\nwrong %v", diff, f.Errors)
			}
		})
	}
}

func TestReadFileNamesWrongLines(t *testing.T) {
	file := strings.Join([]string{
		"Time,RH,Temp", // line 1
		"2026-01-20 09:00,41,20",
		"2026-01-20 09:10,wet,20",
		"2026-01-20 09:20,100.1,20",
		"2026-01-20 09:30,-1,20",
		"2026-01-20 09:40,,20",
		"2026-01-20 09:50,41,68", // Fahrenheit in a column of C
		"2026-02-30 09:00,41,20",
		"yesterday,41,20",
		"2026-01-20,41,20",
		"2027-01-20 09:00,41,20",
		"2026-01-20 10:00,41,5,20", // decimal comma between commas
		"2026-01-20 10:10",
		"2026-01-20 09:00,42,20", // the moment of line 2
		"2026-01-20 25:00,42,20",
		"2026-01-20 10:20,NaN,20",
		"2026-01-20 10:30,4e1,20",
		"1999-01-20 10:30,40,20",
		"2026-01-20 11:00,0,",
		"2026-01-20 11:10,100,",
	}, "\n")
	f, err := ReadFile([]byte(file), time.UTC, AnyOrder, later)
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]string{
		3: "no number as humidity: “wet”", 4: "not from 0 to 100 %: “100.1”", 5: "not from 0 to 100", 6: "no number as humidity", 7: "temperature that is not from -50 to 60",
		8: "does not exist", 9: "no date and time", 10: "no date and time", 11: "future", 12: "more columns", 13: "fewer columns", 15: "no date and time",
		16: "no number as humidity", 17: "no number as humidity", 18: "ten years",
	}
	got := map[int]string{}
	for _, e := range f.Errors {
		got[e.Line] = e.Text
		if !strings.Contains(e.Text, want[e.Line]) || want[e.Line] == "" {
			t.Errorf("line %d: got %q, want %q", e.Line, e.Text, want[e.Line])
		}
	}
	if len(got) != len(want) || f.Wrong != len(want) {
		t.Errorf("got %d lines wrong and %d told, want %d", f.Wrong, len(got), len(want))
	}
	if diff := cmp.Diff([]string{"2026-01-20T09:00:00Z 41 20", "2026-01-20T11:00:00Z 0", "2026-01-20T11:10:00Z 100"}, rowsText(f)); diff != "" || f.Twice != 1 {
		t.Errorf("%d twice, want 1; rows (-want +got)\n%s", f.Twice, diff)
	}
}

func TestReadFileRefuses(t *testing.T) {
	many := "Time,RH\n" + strings.Repeat("2026-01-20 09:00,41\n", MaxRows+1)
	for name, c := range map[string]struct {
		file  string
		order DateOrder
		field string
	}{
		"nothing":                 {"", AnyOrder, "file"},
		"a picture":               {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", AnyOrder, "file"},
		"prose":                   {"The air was dry today, about forty per cent.", AnyOrder, "file"},
		"names only":              {"Time,RH\n", AnyOrder, "file"},
		"no names":                {"2026-01-20 09:00,41\n", AnyOrder, "file"},
		"no time":                 {"RH,Temp\n41,20\n", AnyOrder, "file"},
		"absolute humidity alone": {"Time,Absolute humidity g/m3\n2026-01-20 09:00,7.4\n", AnyOrder, "file"},
		"fractions":               {"Time,RH\n2026-01-20 09:00,0.41\n2026-01-20 09:10,0.42\n", AnyOrder, "file"},
		"too long":                {"Time,RH\n" + strings.Repeat(" ", MaxFile), AnyOrder, "file"},
		"too many":                {many, AnyOrder, "file"},
		"either order":            {"Time,RH\n03/04/2026 09:00,41\n", AnyOrder, "order"},
		"both orders":             {"Time,RH\n13/04/2026 09:00,41\n04/13/2026 09:00,41\n", AnyOrder, "order"},
		"unknown order":           {"Time,RH\n13/04/2026 09:00,41\n", "year last", "order"},
	} {
		f, err := ReadFile([]byte(c.file), time.UTC, c.order, later)
		if domain.KindOf(err) != domain.Invalid || domain.FieldsOf(err)[c.field] == "" {
			t.Errorf("%s: got %+v and %v, want an Invalid error of field %q", name, f, err, c.field)
		}
	}
}

func TestReadFileChosenOrder(t *testing.T) {
	file := []byte("Time,RH\n03/04/2026 09:00,41\n04/13/2026 09:00,41\n")
	for order, want := range map[DateOrder]string{DayFirst: "2026-04-03T09:00:00Z 41", MonthFirst: "2026-03-04T09:00:00Z 41"} {
		f, err := ReadFile(file, time.UTC, order, later)
		if err != nil || rowsText(f)[0] != want {
			t.Errorf("%s: got %v and %v, want %s first", order, f, err, want)
		}
	}
	if f, err := ReadFile(file, time.UTC, DayFirst, later); err != nil || f.Wrong != 1 || f.Errors[0].Line != 3 {
		t.Errorf("day first: got %+v and %v, want line 3 named", f, err)
	}
}

// In Toronto the clocks of 2026 go forward on 8 March at 02:00 and back on 1
// November at 02:00. Source: the zone data that Go reads.
func TestReadFileOverAChangeOfClocks(t *testing.T) {
	zone := mustZone(t, "America/Toronto")
	read := func(lines ...string) *File {
		t.Helper()
		f, err := ReadFile([]byte("Time,RH\n"+strings.Join(lines, ",41\n")+",41\n"), zone, AnyOrder, later)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	f := read("2026-03-08 01:30", "2026-03-08 02:30", "2026-03-08 03:30")
	if diff := cmp.Diff([]string{"2026-03-08T06:30:00Z 41", "2026-03-08T07:30:00Z 41"}, rowsText(f)); diff != "" || f.Wrong != 1 || f.Errors[0].Line != 3 {
		t.Errorf("forward: %+v (-want +got)\n%s", f.Errors, diff)
	}
	back := []string{"2026-11-01 00:30", "2026-11-01 01:00", "2026-11-01 01:30", "2026-11-01 01:00", "2026-11-01 01:30", "2026-11-01 02:00"}
	want := []string{
		"2026-11-01T04:30:00Z 41", "2026-11-01T05:00:00Z 41", "2026-11-01T05:30:00Z 41", "2026-11-01T06:00:00Z 41", "2026-11-01T06:30:00Z 41", "2026-11-01T07:00:00Z 41",
	}
	if diff := cmp.Diff(want, rowsText(read(back...))); diff != "" {
		t.Errorf("back (-want +got)\n%s", diff)
	}
	for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
		back[i], back[j] = back[j], back[i]
	}
	if diff := cmp.Diff(want, rowsText(read(back...))); diff != "" {
		t.Errorf("back, newest first (-want +got)\n%s", diff)
	}
}

func FuzzReadFile(f *testing.F) {
	f.Add([]byte("Time,RH,Temp\n2026-01-20 09:00,41,20\n"))
	f.Add([]byte("Date;Time;Humidity\n20.01.26;9:00 PM;41,5\n"))
	f.Add([]byte("\xff\xfeT\x00"))
	f.Fuzz(func(t *testing.T, file []byte) {
		out, err := ReadFile(file, time.UTC, AnyOrder, later)
		if (out == nil) == (err == nil) {
			t.Fatalf("got %v and %v", out, err)
		}
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Fatalf("got %v, want an Invalid error", err)
			}
			return
		}
		for i, r := range out.Rows {
			if r.RH.IsNegative() || r.RH.GreaterThan(percent(100)) || r.At.After(later) || i > 0 && !r.At.After(out.Rows[i-1].At) {
				t.Fatalf("row %d: %+v", i, r)
			}
		}
	})
}

func BenchmarkReadFile(b *testing.B) {
	var file strings.Builder
	file.WriteString("Time,RH,Temp\n")
	at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range MaxRows {
		fmt.Fprintf(&file, "%s,%d.%d,20.5\n", at.Add(time.Duration(i)*5*time.Minute).Format(time.DateTime), 40+i%10, i%10)
	}
	for b.Loop() {
		if f, err := ReadFile([]byte(file.String()), time.UTC, AnyOrder, later); err != nil || len(f.Rows) != MaxRows {
			b.Fatal(err)
		}
	}
}
