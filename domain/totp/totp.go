// Package totp computes the six-digit codes that an authenticator shows, as
// RFC 6238 has them: HMAC-SHA-1 over the number of half minutes since 1970,
// cut down to digits as RFC 4226 says.
package totp

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha1" // as RFC 6238 and every authenticator have it; the code's safety does not rest on collisions
	"crypto/subtle"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"net/url"
	"strings"
	"time"
)

const (
	// Step is how long a code stands: 30 s. Source: RFC 6238, section 5.2.
	Step = 30 * time.Second
	// Digits a code has. Source: RFC 4226, section 5.3, at least 6.
	Digits = 6
	// Window is how many steps before and after the present one are taken too,
	// for clocks that differ. Source: RFC 6238, section 5.2, at most one step.
	Window = 1

	secretBytes = 20 // as long as the hash. Source: RFC 4226, section 4, R6
	modulus     = 1_000_000
)

// encoding is how authenticators take a secret that is typed: base32 without padding.
var encoding = base32.StdEncoding.WithPadding(base32.NoPadding)

// NewSecret makes a secret of 160 random bits in base32.
func NewSecret() string {
	b := make([]byte, secretBytes)
	_, _ = rand.Read(b) // never fails
	return encoding.EncodeToString(b)
}

// StepOf counts the whole steps from 1970 to a moment; 0 before 1970.
func StepOf(at time.Time) int64 {
	return max(at.Unix(), 0) / int64(Step/time.Second)
}

// Code is the code of a secret in base32 at a step, with leading zeros. An error
// tells that the secret is no base32.
func Code(secret string, step int64) (string, error) {
	key, err := encoding.DecodeString(strings.ToUpper(strings.ReplaceAll(secret, " ", "")))
	if err != nil || len(key) == 0 {
		return "", fmt.Errorf("the secret is no base32")
	}
	return fmt.Sprintf("%0*d", Digits, truncated(key, step)%modulus), nil
}

// truncated is the 31-bit number behind a code. Source: RFC 4226, section 5.3.
func truncated(key []byte, step int64) uint32 {
	var counter [8]byte
	binary.BigEndian.PutUint64(counter[:], uint64(step))
	mac := hmac.New(sha1.New, key)
	mac.Write(counter[:])
	sum := mac.Sum(nil)
	at := sum[len(sum)-1] & 0x0f
	return binary.BigEndian.Uint32(sum[at:at+4]) & 0x7fffffff
}

// Check reports whether a typed code belongs to a secret at a moment, and of
// which step it is. Codes of steps up to last are refused: each is used once.
// Source: RFC 6238, section 5.2. Spaces in what is typed do not matter.
func Check(secret, typed string, at time.Time, last int64) (step int64, ok bool) {
	typed = strings.Join(strings.Fields(typed), "")
	if len(typed) != Digits {
		return 0, false
	}
	now := StepOf(at)
	for s := now - Window; s <= now+Window; s++ {
		want, err := Code(secret, s)
		if err != nil {
			return 0, false
		}
		same := subtle.ConstantTimeCompare([]byte(want), []byte(typed)) == 1
		if same && s > last && !ok {
			step, ok = s, true
		}
	}
	return step, ok
}

// Address is what an authenticator reads out of the square picture: whose secret it is,
// the secret, and the figures, which some programs do not know by themselves.
func Address(shop, person, secret string) string {
	q := url.Values{"secret": {secret}, "issuer": {shop}, "algorithm": {"SHA1"}, "digits": {fmt.Sprint(Digits)}, "period": {fmt.Sprint(int(Step / time.Second))}}
	label := url.PathEscape(strings.ReplaceAll(shop, ":", " ") + ":" + strings.ReplaceAll(person, ":", " "))
	return "otpauth://totp/" + label + "?" + strings.ReplaceAll(q.Encode(), "+", "%20")
}

// Groups writes a secret in fours, so that it can be typed.
func Groups(secret string) string {
	var out []string
	for len(secret) > 4 {
		out, secret = append(out, secret[:4]), secret[4:]
	}
	return strings.Join(append(out, secret), " ")
}
