package shop

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"tenths/internal/record"
	"tenths/internal/store"
)

// What a password is made into. Source: OWASP's recommendation of Argon2id
// (RFC 9106) with 19 MiB, two passes and one lane.
const (
	passes     = 2
	memoryKiB  = 19 << 10
	lanes      = 1
	hashLength = 32
)

const hashForm = "$argon2id$v=19$m=%d,t=%d,p=%d$"

// leastPassword is the least length of a password, in characters. Source: NIST
// SP 800-63B, 5.1.1.2.
const leastPassword = 8

// GoodPassword refuses what can't be a password, or is too short for one.
func GoodPassword(password string) error {
	switch {
	case !utf8.ValidString(password) || len(password) > 1000:
		return record.Refuse("new-password", "choose another", "that can't be a password")
	case utf8.RuneCountInString(password) < leastPassword:
		return record.Refuse("new-password", fmt.Sprintf("choose one of at least %d characters: a few words are easy to keep in mind", leastPassword), "the password is too short")
	}
	return nil
}

// hashPassword makes what a password is checked by.
func hashPassword(password string) (string, error) {
	if err := GoodPassword(password); err != nil {
		return "", err
	}
	var salt [16]byte
	rand.Read(salt[:]) // never fails
	key := argon2.IDKey([]byte(password), salt[:], passes, memoryKiB, lanes, hashLength)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf(hashForm, memoryKiB, passes, lanes) + b64.EncodeToString(salt[:]) + "$" + b64.EncodeToString(key), nil
}

// matches tells whether a hash is of a password.
func matches(hash, password string) (bool, error) {
	rest, ok := strings.CutPrefix(hash, fmt.Sprintf(hashForm, memoryKiB, passes, lanes))
	salt64, key64, found := strings.Cut(rest, "$")
	b64 := base64.RawStdEncoding
	salt, err := b64.DecodeString(salt64)
	key, err2 := b64.DecodeString(key64)
	if !ok || !found || errors.Join(err, err2) != nil || len(key) != hashLength {
		return false, store.Damaged("what a password is checked by can't be read; a manager sets it anew with tenths person password")
	}
	got := argon2.IDKey([]byte(password), salt, passes, memoryKiB, lanes, hashLength)
	return subtle.ConstantTimeCompare(got, key) == 1, nil
}

// CheckPassword refuses a password that is not the person's. It takes a
// twentieth of a second by design, one at a time, and keeps nobody else
// waiting but who gives a password too. The memory that it took is given back
// before the next begins: else one after the other would hold two and three
// times as much.
func (s *Shop) CheckPassword(ctx context.Context, handle, password string) error {
	state, err := s.Record(ctx)
	if err != nil {
		return err
	}
	if _, err := state.In(handle, s.options.Now()); err != nil {
		return err
	}
	hash, err := s.store.Secret(ctx, handle)
	if errors.Is(err, store.ErrNotFound) {
		return record.Refuse("password", "a manager sets one with tenths person password", "%s has no password yet", handle)
	}
	if err != nil {
		return err
	}
	s.hashing.Lock()
	good, err := matches(hash, password)
	runtime.GC()
	s.hashing.Unlock()
	if err == nil && !good {
		err = record.Refuse("password", "give it again", "that is not the password of %s", handle)
	}
	return err
}

// SetPassword gives a person a password. Everybody may change their own, and a
// manager may set another's who has none or has lost it.
func (s *Shop) SetPassword(ctx context.Context, by Who, handle, password string) error {
	state, err := s.Record(ctx)
	if err != nil {
		return err
	}
	if _, ok := state.People[handle]; !ok {
		return record.Refuse("person", "tenths person list has them", "there is no person %q", handle)
	}
	need := right{"set the password of somebody else", managers, true}
	if by.Handle == handle {
		need.roles, need.whole = anybody, false
	}
	if err := may(state, by.Handle, need, s.options.Now()); err != nil {
		return err
	}
	s.hashing.Lock()
	hash, err := hashPassword(password)
	runtime.GC()
	s.hashing.Unlock()
	if err != nil {
		return err
	}
	return s.store.PutSecret(ctx, handle, hash)
}
