package config

import (
	"fmt"
	"log/slog"
)

// hidden is what a secret that is set prints as.
const hidden = "(hidden)"

// Secret is a password or key that does not print: every way of formatting,
// marshaling or logging it gives "(hidden)", or nothing when it is not set.
// The text is behind a pointer, so that printing a struct that holds a secret
// in an unexported field shows an address at most. Compare secrets with
// Equal, not with ==.
type Secret struct{ text *string }

// NewSecret keeps a text secret; "" is a secret that is not set.
func NewSecret(text string) Secret {
	if text == "" {
		return Secret{}
	}
	return Secret{text: &text}
}

// Reveal gives the text, for the one place that sends it to its peer.
func (s Secret) Reveal() string {
	if s.text == nil {
		return ""
	}
	return *s.text
}

// IsZero says whether no secret is set.
func (s Secret) IsZero() bool { return s.text == nil }

// Equal says whether two secrets hold the same text.
func (s Secret) Equal(t Secret) bool { return s.Reveal() == t.Reveal() }

// String gives "(hidden)", or "" when no secret is set.
func (s Secret) String() string {
	if s.IsZero() {
		return ""
	}
	return hidden
}

// GoString gives what String gives, quoted.
func (s Secret) GoString() string { return fmt.Sprintf("config.Secret(%q)", s.String()) }

// Format prints what String gives for every verb but %#v.
func (s Secret) Format(f fmt.State, verb rune) {
	text := s.String()
	if verb == 'v' && f.Flag('#') {
		text = s.GoString()
	}
	_, _ = f.Write([]byte(text)) // fmt.State has nowhere to report it
}

// UnmarshalText takes a text as the secret.
func (s *Secret) UnmarshalText(text []byte) error {
	*s = NewSecret(string(text))
	return nil
}

// MarshalText writes what String gives; a secret cannot be read back.
func (s Secret) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// MarshalJSON writes what String gives.
func (s Secret) MarshalJSON() ([]byte, error) { return fmt.Appendf(nil, "%q", s.String()), nil }

// LogValue logs what String gives.
func (s Secret) LogValue() slog.Value { return slog.StringValue(s.String()) }
