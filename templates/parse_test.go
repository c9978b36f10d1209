package templates

import (
	"encoding/json"
	"io/fs"
	"strings"
	"testing"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

// sound is a small file with nothing wrong in it.
const sound = `code = "XX"
name = "Strap button fitted"
summary = "A strap button is screwed to the heel."
revision = 1
phase = "kit"
needs_hold = false
check_at_pitch = false
driver = "each"
per_unit = 1
unit = ""
setup = { low = 0, typical = 0, high = 0 }
labour = { low = 10, typical = 15, high = 20 }
per_check = 0
skill = 2
source = "common practice, no source"
[price]
basis = "flat"
flat = 0.3
[[waits]]
kind = "part ordered"
low = 0
typical = "0.5"
high = 3
[[materials]]
name = "strap button"
quantity = 1
unit = "each"
per = "job"
billed = true
kind = "part"
part = "strap-button"
[[checks]]
what = "Button turns by"
unit = "turns"
at_most = 0
method = "By hand."
`

func TestRoundTrip(t *testing.T) {
	names, err := fs.Glob(files, "*.toml")
	if err != nil || len(names) != 20 {
		t.Fatalf("got %d files, %v, want 20", len(names), err)
	}
	for _, name := range names {
		data, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		want, err := Parse(name, data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		text, err := Encode(want)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, err := Parse("again", text)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%s: %v (-want +got):\n%s", name, err, diff)
		}
	}
}

func TestJSONRoundTrip(t *testing.T) {
	for _, want := range all(t) {
		data, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		var got Template
		if err := json.Unmarshal(data, &got); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", want.Code, diff)
		}
	}
}

func TestParseSound(t *testing.T) {
	got, err := Parse("strap.toml", []byte(sound+"\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got.Code != "XX" || got.Phase != PhaseKit || !got.Waits[0].Typical.Equal(dec("0.5")) || got.Tools != nil {
		t.Errorf("got %+v", got)
	}
	if !got.Checks[0].Passes(dec("0")) || got.Checks[0].Passes(dec("0.1")) {
		t.Error("a limit of 0 passes 0 and nothing above")
	}
	if windows, err := Parse("strap.toml", []byte(strings.ReplaceAll(sound, "\n", "\r\n"))); err != nil || !cmp.Equal(windows, got) {
		t.Errorf("with carriage returns: %v", err)
	}
}

// Each row spoils one line of the sound file.
func TestParseSlips(t *testing.T) {
	for _, c := range []struct{ why, old, new, field, say string }{
		{"unknown field", `skill = 2`, `skil = 2`, "skil", "strap.toml, line 14: is no field of a template"},
		{"unknown field in a row", `kind = "part ordered"`, "kind = \"hold\"\ndays = 3", "waits[0].days", "line 21: is no field"},
		{"unknown field in a range", `high = 20 }`, `high = 20, best = 5 }`, "labour.best", "line 12: is no field"},
		{"unknown table", "[price]", "[prise]\nx = 1\n[price]", "prise", "line 16: is no field"},
		{"negative minutes", `low = 10`, `low = -10`, "labour.low", "line 12: got -10, must be 0 to 10000"},
		{"low above typical", `low = 10`, `low = 16`, "labour.low", "line 12: got 16, must not be above typical, which is 15"},
		{"typical above high", `high = 20`, `high = 14`, "labour.typical", "got 15, must not be above high, which is 14"},
		{"no minutes at all", `low = 10, typical = 15, high = 20`, `low = 0, typical = 0, high = 0`, "labour", "has no minutes"},
		{"missing code", `code = "XX"`, ``, "code", `strap.toml: got "", must be 1 to 8 capital letters`},
		{"code in small letters", `"XX"`, `"xx"`, "code", `line 1: got "xx", must be 1 to 8 capital letters`},
		{"missing name", `name = "Strap button fitted"`, ``, "name", "is needed"},
		{"name of a thousand letters", `Strap button fitted`, strings.Repeat("x", 1000), "name", "at most 80 letters"},
		{"space at the end", `fitted"`, `fitted "`, "name", "must not begin or end with a space"},
		{"a clamp with a long name", `skill = 2`, "skill = 2\nclamp = \"" + strings.Repeat("x", 41) + `"`, "clamp", "line 15: must have at most 40 letters"},
		{"a clamp in the cabinet", "source = \"common practice, no source\"\n[price]\nbasis = \"flat\"\nflat = 0.3\n[[waits]]\nkind = \"part ordered\"",
			"clamp = \"bar\"\nsource = \"common practice, no source\"\n[price]\nbasis = \"flat\"\nflat = 0.3\n[[waits]]\nkind = \"hold\"", "clamp", "line 15: got \"bar\", must be empty for a hold"},
		{"revision 0", `revision = 1`, `revision = 0`, "revision", "got 0, must be 1 or more"},
		{"revision as text", `revision = 1`, `revision = "1"`, "revision", "line 4: must be a whole number"},
		{"half a minute", `low = 10`, `low = 10.5`, "labour.low", "line 12: must be a whole number"},
		{"a number as name", `name = "Strap button fitted"`, `name = 5`, "name", "line 2: must be text in quotes"},
		{"text for yes or no", `needs_hold = false`, `needs_hold = "no"`, "needs_hold", "line 6: must be true or false"},
		{"a number for a range", `labour = { low = 10, typical = 15, high = 20 }`, `labour = 15`, "labour", "line 12: must be low, typical and high"},
		{"a number in a list", `per_check = 0`, "per_check = 0\ntools = [\n \"file\",\n 7,\n]", "tools[1]", "line 16: must be text"},
		{"a text for a list", `per_check = 0`, `tools = "file"`, "tools", "must be a list of texts"},
		{"an empty row", `per_check = 0`, "per_check = 0\ntools = [\n \"file\",\n \"\",\n]", "tools[1]", "line 16: is needed"},
		{"too many rows", `per_check = 0`, "per_check = 0\ntools = [" + strings.Repeat(`"x",`, 41) + "]", "tools", "has 41 rows, must have at most 40"},
		{"phase that is none", `"kit"`, `"lunch"`, "phase", `line 5: got "lunch", which is no phase; must be one of: survey`},
		{"phase as a number", `"kit"`, `16`, "phase", `line 5: must be the name of a phase`},
		{"no phase", `phase = "kit"`, ``, "phase", "is needed"},
		{"hold needed before the hold", "phase = \"kit\"\nneeds_hold = false", "phase = \"survey\"\nneeds_hold = true", "needs_hold", "line 6: is true, but"},
		{"after itself", `per_check = 0`, "per_check = 0\nafter = [\"XX\"]", "after[0]", "is the template itself"},
		{"after one twice", `per_check = 0`, "per_check = 0\nafter = [\"A\", \"A\"]", "after[1]", "names A twice"},
		{"after something that is no code", `per_check = 0`, "per_check = 0\nafter = [\"the hold\"]", "after[0]", "must be the code"},
		{"driver that is none", `"each"`, `"weight"`, "driver", "must be one of: each, length, count, run"},
		{"unit with each", `unit = ""`, `unit = "mm"`, "unit", "must be empty for the driver each"},
		{"bad unit of length", "driver = \"each\"\nper_unit = 1\nunit = \"\"", "driver = \"length\"\nper_unit = 100\nunit = \"cm\"", "unit", `line 10: got "cm", must be one of: mm`},
		{"bad unit of a count", "\"each\"\nper_unit = 1\nunit = \"\"", "\"count\"\nper_unit = 1\nunit = \"kg\"", "unit", `got "kg", must be one of: cleats`},
		{"bad unit of runs", "\"each\"\nper_unit = 1\nunit = \"\"", "\"run\"\nper_unit = 1\nunit = \"mm\"", "unit", "must be one of: runs, edges"},
		{"labour for a hundred each", `per_unit = 1`, `per_unit = 100`, "per_unit", "must be 1 unless the driver is length"},
		{"skill 5", `skill = 2`, `skill = 5`, "skill", "got 5, must be 1 to 4"},
		{"price basis", `"flat"`, `"guess"`, "price.basis", "line 17: got \"guess\", must be one of: flat, time"},
		{"flat without a price", `flat = 0.3`, `flat = 0`, "price.flat", "line 18: must be above 0"},
		{"time with a price", `"flat"`, `"time"`, "price.flat", "must be 0 when the basis is time"},
		{"free with a price", `flat = 0.3`, "flat = 0.3\nfree = true", "price.flat", "must be 0 when the task is free"},
		{"price of a billion digits", `flat = 0.3`, `flat = "1e999999999"`, "price.flat", "line 18: must be a number"},
		{"price of fifty digits", `flat = 0.3`, `flat = "1e50"`, "price.flat", "line 18: is too long or too large"},
		{"price too small to pay", `flat = 0.3`, `flat = "1e-50"`, "price.flat", "is too long or too large"},
		{"price of thirty digits", `flat = 0.3`, `flat = "123456789012345678901234567890.5"`, "price.flat", "must be 0 to 100"},
		{"price no machine number holds", `flat = 0.3`, `flat = 1e999`, "price.flat", "line 18: must be a number"},
		{"price in words", `flat = 0.3`, `flat = "dear"`, "price.flat", "line 18: must be a number, such as 0.5"},
		{"price true", `flat = 0.3`, `flat = true`, "price.flat", "line 18: must be a number, such as 0.5"},
		{"price not a number", `flat = 0.3`, `flat = nan`, "price.flat", "line 18: must be a number"},
		{"price negative", `flat = 0.3`, `flat = -0.3`, "price.flat", "got -0.3, must be 0 to 100"},
		{"price of four places", `flat = 0.3`, `flat = 0.3333`, "price.flat", "at most three decimal places"},
		{"wait of an unknown kind", `"part ordered"`, `"tea"`, "waits[0].kind", `line 20: got "tea", must be one of: hold, glue clamp`},
		{"wait out of order", `low = 0
typical = "0.5"`, `low = 1
typical = "0.5"`, "waits[0].low", "line 21: got 1, must not be above typical, which is 0.5"},
		{"wait typical above high", `high = 3`, `high = 0.25`, "waits[0].typical", "must not be above high, which is 0.25"},
		{"wait of years", `high = 3`, `high = 4000`, "waits[0].high", "line 23: got 4000, must be 0 to 400"},
		{"nothing of a material", `quantity = 1`, `quantity = 0`, "materials[0].quantity", "line 26: must be above 0"},
		{"material by the barrel", `unit = "each"`, `unit = "barrel"`, "materials[0].unit", `got "barrel", must be one of: each`},
		{"material per year", `per = "job"`, `per = "year"`, "materials[0].per", "must be one of: job, unit"},
		{"material of an unknown kind", `kind = "part"`, `kind = "gift"`, "materials[0].kind", "must be one of: part, shop_supplies, retail_goods"},
		{"supplies that are billed", `kind = "part"`, `kind = "shop_supplies"`, "materials[0].billed", "must be false for shop_supplies"},
		{"a part without a stock code", `part = "strap-button"`, ``, "materials[0].part", "is needed for what is billed"},
		{"a stock code with a space", `"strap-button"`, `"strap button"`, "materials[0].part", "must be small letters, digits and hyphens"},
		{"a limit without a unit", `unit = "turns"`, ``, "checks[0].unit", "a limit needs a unit"},
		{"a unit without a limit", `at_most = 0`, ``, "checks[0].unit", "a unit needs a limit"},
		{"a check in furlongs", `"turns"`, `"furlongs"`, "checks[0].unit", "must be one of"},
		{"limits that cross", `at_most = 0`, "at_most = 0\nat_least = 1", "checks[0].at_least", "got 1, must not be above at_most, which is 0"},
		{"a check without a method", `method = "By hand."`, ``, "checks[0].method", "is needed"},
		{"a key twice", `skill = 2`, "skill = 2\nskill = 3", "skill", "already defined"},
		{"broken TOML", `skill = 2`, `skill = `, "file", "line 14, column 9"},
		{"not TOML", sound, "<html>", "file", "line 1"},
		{"an empty file", sound, "", "source", "is needed"},
		{"a huge file", sound, strings.Repeat("#", MaxFile+1), "file", "must have at most 65536"},
		{"fifty slips", sound, "tools = [\n" + strings.Repeat("]\ntools = [\n", 60) + "]", "file", "more than 50 values"},
	} {
		text := strings.Replace(sound, c.old, c.new, 1)
		if text == sound {
			t.Fatalf("%s: %q is not in the file", c.why, c.old)
		}
		_, err := Parse("strap.toml", []byte(text))
		if domain.KindOf(err) != domain.Invalid || !strings.HasPrefix(domain.TextOf(err), "strap.toml: ") {
			t.Errorf("%s: got %v, want an invalid error that names the file", c.why, err)
			continue
		}
		if got := domain.FieldsOf(err)[c.field]; !strings.Contains(got, c.say) {
			t.Errorf("%s: got %v, want %s to say %q", c.why, err, c.field, c.say)
		}
	}
}

func TestParseTellsAllAtOnce(t *testing.T) {
	text := strings.NewReplacer(`revision = 1`, `revision = "one"`, `skill = 2`, `skill = 9`, `flat = 0.3`, `flat = true`,
		`kind = "part"`, "kind = \"part\"\ncolour = 1", `"kit"`, `7`, `name = "Strap button fitted"`, `name = 4`).Replace(sound)
	_, err := Parse("strap.toml", []byte(text))
	fields := domain.FieldsOf(err)
	for _, field := range []string{"revision", "skill", "price.flat", "materials[0].colour", "phase", "name"} {
		if fields[field] == "" {
			t.Errorf("%s is not named", field)
		}
	}
	if len(fields) != 6 || domain.TextOf(err) != "strap.toml: 6 fields need another look" {
		t.Errorf("got %v, want six fields", err)
	}
}

func TestEncodeRefusesWhatParseRefuses(t *testing.T) {
	if _, err := Encode(Template{}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("got %v, want an invalid error", err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(sound))
	f.Add([]byte(strings.Replace(sound, "0.3", "1e99999999", 1)))
	f.Add([]byte("a = [[1], {b = 2}]\n[a.b]\n[[c]]\n[[c]]\n"))
	f.Add([]byte("waits = [{ kind = 'hold', low = true }]\r\nafter = 7"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Parse("fuzz.toml", data)
		if err != nil {
			if domain.KindOf(err) != domain.Invalid || len(domain.FieldsOf(err)) == 0 {
				t.Fatalf("got %v, want an invalid error with fields", err)
			}
			return
		}
		text, err := Encode(got)
		if err != nil {
			t.Fatalf("cannot write what was read: %v", err)
		}
		again, err := Parse("again.toml", text)
		if diff := cmp.Diff(got, again); err != nil || diff != "" {
			t.Fatalf("%v (-want +got):\n%s\n%s", err, diff, text)
		}
	})
}
