package totp

import (
	"encoding/base32"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"
)

// rfcSecret is the key of the test vectors. Source: RFC 6238, appendix B: the
// 20 ASCII letters "12345678901234567890".
var rfcSecret = base32.StdEncoding.EncodeToString([]byte("12345678901234567890"))

// Source: RFC 6238, appendix B, the rows of SHA1. The table has eight digits;
// six are the last six of them, since the number is the same modulo 10^6.
func TestVectorsOfTheStandard(t *testing.T) {
	for _, v := range []struct {
		unix  int64
		step  int64
		eight string
	}{
		{59, 0x1, "94287082"}, {1111111109, 0x23523EC, "07081804"}, {1111111111, 0x23523ED, "14050471"},
		{1234567890, 0x273EF07, "89005924"}, {2000000000, 0x3F940AA, "69279037"}, {20000000000, 0x27BC86AA, "65353130"},
	} {
		at := time.Unix(v.unix, 0)
		if got := StepOf(at); got != v.step {
			t.Errorf("step at %d: got %X, want %X", v.unix, got, v.step)
		}
		got, err := Code(rfcSecret, v.step)
		if want := v.eight[2:]; err != nil || got != want {
			t.Errorf("code at %d: got %s, %v, want %s", v.unix, got, err, want)
		}
		if number := fmt.Sprintf("%08d", truncated([]byte("12345678901234567890"), v.step)%100_000_000); number != v.eight {
			t.Errorf("eight digits at %d: got %s, want %s", v.unix, number, v.eight)
		}
	}
}

// Source: RFC 4226, appendix D: codes of counts 0 to 9 of the same key.
func TestVectorsOfTheCount(t *testing.T) {
	for count, want := range []string{"755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"} {
		if got, err := Code(rfcSecret, int64(count)); err != nil || got != want {
			t.Errorf("count %d: got %s, %v, want %s", count, got, err, want)
		}
	}
}

func TestACodeIsTakenOnceWithinOneStep(t *testing.T) {
	at := time.Unix(1234567890, 0)
	now := StepOf(at)
	for _, v := range []struct {
		step, last int64
		want       bool
	}{{now, 0, true}, {now - 1, 0, true}, {now + 1, 0, true}, {now - 2, 0, false}, {now + 2, 0, false}, {now, now, false}, {now - 1, now, false}, {now + 1, now, true}} {
		code, err := Code(rfcSecret, v.step)
		if err != nil {
			t.Fatal(err)
		}
		step, ok := Check(rfcSecret, " "+code[:3]+" "+code[3:], at, v.last)
		if ok != v.want || ok && step != v.step {
			t.Errorf("code of step %+d, last %+d: got %v of step %d, want %v", v.step-now, v.last-now, ok, step, v.want)
		}
	}
	for _, typed := range []string{"", "12345", "1234567", "abcdef", "００５９２４"} {
		if _, ok := Check(rfcSecret, typed, at, 0); ok {
			t.Errorf("%q is taken as a code", typed)
		}
	}
	if _, ok := Check("no base32!", "005924", at, 0); ok {
		t.Error("a broken secret takes a code")
	}
	if StepOf(time.Time{}) != 0 {
		t.Error("before 1970 there is a step")
	}
}

func TestSecretsAndAddress(t *testing.T) {
	one, two := NewSecret(), NewSecret()
	if one == two || len(one) != 32 {
		t.Errorf("got secrets %q and %q, want two of 160 bits", one, two)
	}
	u, err := url.Parse(Address("Frost: & Fret", "Tove H", one))
	if err != nil || u.Scheme != "otpauth" || u.Host != "totp" || u.Path != "/Frost  & Fret:Tove H" || u.Query().Get("secret") != one || u.Query().Get("issuer") != "Frost: & Fret" {
		t.Errorf("got %s, %v", u, err)
	}
	if got := Groups("ABCDEFGHIJ"); got != "ABCD EFGH IJ" {
		t.Errorf("got %q", got)
	}
	if got, err := Code(strings.ToLower(Groups(rfcSecret)), 1); err != nil || got != "287082" {
		t.Errorf("a secret as typed: got %s, %v", got, err)
	}
}

func FuzzCheck(f *testing.F) {
	f.Add("005924", rfcSecret, int64(1234567890))
	f.Add("", "", int64(0))
	f.Add("1 2 3", "a b c", int64(-5))
	f.Fuzz(func(t *testing.T, typed, secret string, unix int64) {
		at := time.Unix(unix%(1<<40), 0)
		step, ok := Check(secret, typed, at, 0)
		if !ok {
			return
		}
		if code, err := Code(secret, step); err != nil || code != strings.Join(strings.Fields(typed), "") {
			t.Errorf("took %q at step %d, whose code is %s, %v", typed, step, code, err)
		}
		if _, again := Check(secret, typed, at, step+Window*2); again {
			t.Errorf("%q is taken again", typed)
		}
	})
}
