package ledger

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// A Seal says that a log had a size and a root at a moment. Written and signed
// it is a note:
//
//	tenths.shop/0198…/job/0198…   the origin: the shop's id, and the log
//	913                           how many entries
//	3qF…=                         the root, in base64
//	sealed 2026-11-25T14:03:09.120Z
//
//	— tenths.shop/0198… wrongkey…=
//
// Source: the checkpoint of transparency logs (C2SP tlog-checkpoint), of which
// the fourth line is our extension, in a signed note (C2SP signed-note) with
// Ed25519 (RFC 8032).
type Seal struct {
	Shop string // the shop's id
	Log  string
	Size int64
	Root Hash
	At   Time
}

// keyName begins the name of every shop's key and the origin of its logs.
const keyName = "tenths.shop/"

// sealed begins the line of a seal that says when.
const sealed = "sealed "

// text is what is signed.
func (s Seal) text() string {
	return keyName + s.Shop + "/" + s.Log + "\n" + strconv.FormatInt(s.Size, 10) + "\n" + s.Root.String() + "\n" + sealed + s.At.String() + "\n"
}

// NewKey makes a key for the shop of that id: the secret half, which signs, and
// the public half, which checks.
func NewKey(shop string) (secret, public string, err error) {
	return note.GenerateKey(rand.Reader, keyName+shop)
}

// Sign writes a seal as a signed note, with the secret half of the shop's key.
func (s Seal) Sign(secret string) (string, error) {
	signer, err := note.NewSigner(strings.TrimSpace(secret))
	if err != nil {
		return "", errors.New("the shop's key can't be read: it is not one, or is cut short")
	}
	if signer.Name() != keyName+s.Shop {
		return "", fmt.Errorf("the key is of %s, and the log of shop %s", signer.Name(), s.Shop)
	}
	signed, err := note.Sign(&note.Note{Text: s.text()}, signer)
	return string(signed), err
}

// CheckKey tells whether text is the public half of a shop's key, exactly as
// NewKey writes it.
func CheckKey(text string) error {
	fail := errors.New("the key can't be read: it is not one, or is cut short")
	v, err := note.NewVerifier(text)
	if err != nil || !strings.HasPrefix(v.Name(), keyName) {
		return fail
	}
	key := strings.TrimPrefix(text, fmt.Sprintf("%s+%08x+", v.Name(), v.KeyHash()))
	if len(key) != base64.StdEncoding.EncodedLen(1+ed25519.PublicKeySize) {
		return fail
	}
	return nil
}

// ErrSignature tells that a seal is not signed by the key.
var ErrSignature = errors.New("the seal is not signed by that key")

// OpenSeal reads a signed seal and checks its signature by the public half of
// a key. The error is [ErrSignature] where only that is wrong.
func OpenSeal(text, public string) (Seal, error) {
	verifier, err := note.NewVerifier(strings.TrimSpace(public))
	if err != nil {
		return Seal{}, errors.New("the key can't be read: it is not one, or is cut short")
	}
	s, err := ReadSeal(text)
	if err != nil {
		return Seal{}, err
	}
	n, err := note.Open([]byte(text), note.VerifierList(verifier))
	if err != nil {
		return s, ErrSignature
	}
	// Two bits of its base64 mean nothing: only nought is a signature as written.
	_, err = base64.StdEncoding.Strict().DecodeString(n.Sigs[0].Base64)
	if err != nil || verifier.Name() != keyName+s.Shop || n.Text != s.text() {
		return s, ErrSignature
	}
	return s, nil
}

// ReadSeal reads what a seal says, and leaves its signature unchecked.
func ReadSeal(text string) (Seal, error) {
	fail := func(what string) (Seal, error) {
		return Seal{}, errors.New("not a seal: " + what)
	}
	body, _, ok := strings.Cut(text, "\n\n")
	if !ok {
		return fail("no signature follows an empty line")
	}
	lines := strings.Split(body, "\n")
	if len(lines) != 4 {
		return fail("wants an origin, a size, a root and when")
	}
	origin, ok := strings.CutPrefix(lines[0], keyName)
	shop, log, found := strings.Cut(origin, "/")
	if !ok || !found || shop == "" || log == "" {
		return fail("the first line names no log of a shop")
	}
	size, err := strconv.ParseInt(lines[1], 10, 64)
	if err != nil || len(lines[1]) > 18 || size < 0 || strconv.FormatInt(size, 10) != lines[1] {
		return fail("the second line is not a size")
	}
	root, err := ParseHash(lines[2])
	if err != nil {
		return fail("the third line is " + err.Error())
	}
	when, ok := strings.CutPrefix(lines[3], sealed)
	at, err := ParseTime(when)
	if !ok || err != nil {
		return fail("the fourth line does not say when")
	}
	return Seal{Shop: shop, Log: log, Size: size, Root: root, At: at}, nil
}

// Fingerprint is the short form of a public key that people compare by eye: its
// name's hash, as the key itself has it.
func Fingerprint(public string) string {
	parts := strings.SplitN(strings.TrimSpace(public), "+", 3)
	if len(parts) < 3 {
		return "no key"
	}
	return parts[1]
}
