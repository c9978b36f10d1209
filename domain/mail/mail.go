// Package mail words what the shop writes to its customers.
package mail

import (
	"fmt"
	"net/mail"
	"strings"
	"time"

	"winterbench/domain"
)

// Kind is what a mail is about.
type Kind string

// The kinds. The reminders go only to who agreed to them.
const (
	Quote       Kind = "quote"
	Ready       Kind = "ready"
	RemindQuote Kind = "quote reminder"
	RemindReady Kind = "ready reminder"
	Recheck     Kind = "check reminder"
)

// Kinds lists the kinds.
func Kinds() []Kind { return []Kind{Quote, Ready, RemindQuote, RemindReady, Recheck} }

// Asked lists the kinds that a person sends.
func Asked() []Kind { return []Kind{Quote, Ready} }

// Reminds reports whether a kind is a reminder, which needs the customer's consent.
func (k Kind) Reminds() bool { return k == RemindQuote || k == RemindReady || k == Recheck }

// Word says the kind to a person.
func (k Kind) Word() string {
	switch k {
	case Quote:
		return "the quote"
	case Ready:
		return "ready to collect"
	case RemindQuote:
		return "reminder of the quote"
	case RemindReady:
		return "reminder to collect"
	case Recheck:
		return "reminder of the check"
	}
	return string(k)
}

// LinkMark stands in a body where the address of the customer's page goes. It is
// replaced only on the way out, so that who reads the outbox does not hold the secret.
const LinkMark = "{the customer's page}"

// Facts are what a mail tells.
type Facts struct {
	Shop, Phone, Address string
	Customer, Instrument string
	Tag                  int
	Total, Valid         string // of the quote, as on paper
	Promised             string // the day, "" for none
	Link                 bool   // there is a page for the customer
	Agreed               string // the day on which they agreed to reminders
}

// Letter is the text of a mail. Subject is one line.
type Letter struct{ Subject, Body string }

// Write words a mail of a kind.
func Write(k Kind, f Facts) Letter {
	subject, told := told(k, f)
	var b strings.Builder
	fmt.Fprintf(&b, "Good day %s,\n\n%s\n\n", line(f.Customer), told)
	if f.Link {
		fmt.Fprintf(&b, "Your page, with the papers. Keep its address to yourself:\n%s\n\n", LinkMark)
	}
	fmt.Fprintf(&b, "%s\n\n%s\n", reach(f), line(f.Shop))
	if f.Address != "" {
		b.WriteString(f.Address + "\n")
	}
	if k.Reminds() {
		fmt.Fprintf(&b, "\nYou get this reminder because you agreed to it on %s. Answer this mail with a no, or tell us, and no further one comes.\n", line(f.Agreed))
	}
	return Letter{Subject: line(subject), Body: strings.ReplaceAll(b.String(), "\r", "")}
}

func told(k Kind, f Facts) (subject, text string) {
	what := fmt.Sprintf("your %s (tag %d)", line(f.Instrument), f.Tag)
	switch k {
	case Quote:
		text = fmt.Sprintf("the quote for %s is %s, valid until %s. Nothing is done before you have answered.", what, f.Total, f.Valid)
		if f.Promised != "" {
			text += " If you say yes soon, we mean to be done by " + f.Promised + "."
		}
		return fmt.Sprintf("Quote for %s", what), text
	case Ready:
		return fmt.Sprintf("Ready: %s", what), fmt.Sprintf("%s is finished and can be collected. In the cold let the closed case stand at home for some hours before you open it.", what)
	case RemindQuote:
		return fmt.Sprintf("Still open: the quote for %s", what), fmt.Sprintf("the quote for %s, %s, still waits for your answer. It is valid until %s.", what, f.Total, f.Valid)
	case RemindReady:
		return fmt.Sprintf("Still here: %s", what), fmt.Sprintf("%s is finished and still stands with us. Please collect it, or tell us when you can.", what)
	case Recheck:
		return fmt.Sprintf("Time for a look at %s", what), fmt.Sprintf("some weeks ago we repaired %s. We said that we would look at it once more about now: wood that was dry goes on moving. Please bring it when it suits you.", what)
	}
	return "", ""
}

func reach(f Facts) string {
	if f.Phone == "" {
		return "You reach us by answering this mail."
	}
	return fmt.Sprintf("You reach us by answering this mail, or at %s.", line(f.Phone))
}

// line makes one line of a text: what could start a new header line is a space.
func line(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f || r == ' ' || r == 0x85 || r == 0x2028 || r == 0x2029 }), " ")
}

// CheckAddress returns an Invalid error unless text is one bare address (RFC 5322,
// addr-spec) on one line.
func CheckAddress(text string) error {
	a, err := mail.ParseAddress(text)
	if err != nil || a.Name != "" || a.Address != text || strings.ContainsAny(text, "\r\n") {
		return domain.Invalidf("the mail address must be one address, such as name@example.org")
	}
	return nil
}

// Fault is why a mail was not taken. Text names no address.
type Fault struct {
	Text  string
	Final bool // trying again would change nothing
}

func (f *Fault) Error() string { return f.Text }

// GiveUpAfter is for how long a mail is tried.
const GiveUpAfter = 4 * 24 * time.Hour

// Pause is how long after a try in vain the next one comes; tries counts from 1. It
// doubles from a minute to six hours.
func Pause(tries int) time.Duration {
	if tries < 1 {
		tries = 1
	}
	if tries > 9 {
		return 6 * time.Hour
	}
	return min(time.Minute<<(tries-1), 6*time.Hour)
}
