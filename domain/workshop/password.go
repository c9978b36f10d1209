package workshop

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"winterbench/domain"
)

// Costs of a password hash. Source: OWASP Password Storage Cheat Sheet,
// argon2id with 19 MiB, 2 passes, 1 lane; from memory.
const (
	passes = 2
	memory = 19 * 1024 // KiB
	lanes  = 1
	keyLen = 32
)

// CheckPassword returns an Invalid error unless a new password has 12 to 200
// letters and is not the name.
func CheckPassword(name, password string) error {
	f := domain.Fields{}
	switch n := utf8.RuneCountInString(password); {
	case !utf8.ValidString(password):
		f.Add("password", "must be text in UTF-8")
	case n < 12:
		f.Add("password", "must have at least 12 letters; several words are easy to keep in mind")
	case n > 200:
		f.Add("password", "must have at most 200 letters")
	case NameKey(password) == NameKey(name):
		f.Add("password", "must not be the name")
	}
	return f.Err()
}

// HashPassword returns the argon2id hash of a password in PHC form.
func HashPassword(password string) string {
	salt := make([]byte, 16)
	_, _ = rand.Read(salt) // never fails
	return phc(salt, argon2.IDKey([]byte(password), salt, passes, memory, lanes, keyLen))
}

func phc(salt, key []byte) string {
	e := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, e.EncodeToString(salt), e.EncodeToString(key))
}

// nobody is compared with when there is no such person, so that the answer
// takes as long.
var nobody = phc(make([]byte, 16), make([]byte, keyLen))

// SamePassword reports whether a password belongs to a hash of [HashPassword].
func SamePassword(hash, password string) bool {
	parts := strings.Split(hash, "$")
	if len(parts) != 6 {
		return false
	}
	var v, m, t, p int
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &v, &m, &t, &p); err != nil || v != argon2.Version {
		return false
	}
	salt, errSalt := base64.RawStdEncoding.DecodeString(parts[4])
	want, errKey := base64.RawStdEncoding.DecodeString(parts[5])
	if errSalt != nil || errKey != nil || m <= 0 || m > 1<<20 || t <= 0 || t > 20 || p <= 0 || p > 16 {
		return false
	}
	got := argon2.IDKey([]byte(password), salt, uint32(t), uint32(m), uint8(p), uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1
}

// NewToken makes a token of 256 random bits and its hash.
func NewToken() (token, hash string) {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails
	token = "wb_" + base64.RawURLEncoding.EncodeToString(b)
	return token, HashToken(token)
}

// HashToken is the form in which a token is kept.
func HashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}
