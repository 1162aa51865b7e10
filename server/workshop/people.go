package workshop

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"

	"yardwright/server/store"
)

// passwordCost is how passwords are hashed: 19 MiB, two passes, one thread, the least that
// the OWASP Password Storage Cheat Sheet asks of Argon2id.
var passwordCost = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// hashing lets only so many passwords be hashed at once, each of which takes memory and time.
var hashing = make(chan struct{}, 2)

// Lengths of passwords. NIST SP 800-63B asks for at least 8 characters and for no rules on
// their kind.
const (
	shortestPassword = 8
	longestPassword  = 200
)

// Times after which a link or an unused sign-in ends.
const (
	LinkLasts   = 7 * 24 * time.Hour
	SignInIdles = 30 * 24 * time.Hour
)

// withHashing runs f when there is room for it.
func withHashing(ctx context.Context, f func() error) error {
	select {
	case hashing <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	defer func() { <-hashing }()
	return f()
}

func hashPassword(ctx context.Context, password string) (hash string, err error) {
	err = withHashing(ctx, func() error {
		hash, err = argon2id.CreateHash(password, passwordCost)
		return err
	})
	return hash, err
}

// checkNewPassword refuses a password that is too easy to guess.
func checkNewPassword(name, password string) error {
	switch length := utf8.RuneCountInString(password); {
	case length < shortestPassword:
		return store.Wrong("password", fmt.Sprintf("Choose a password of at least %d characters; three or four words do well.", shortestPassword))
	case length > longestPassword:
		return store.Wrong("password", fmt.Sprintf("A password has at most %d characters.", longestPassword))
	case strings.EqualFold(password, name) || strings.Trim(password, string([]rune(password)[:1])) == "":
		return store.Wrong("password", "This password is too easy to guess; choose another.")
	}
	return nil
}

// AddFirstOwner makes the first owner of a workshop, who can sign in at once. From then on
// everybody has to.
func (s *Service) AddFirstOwner(ctx context.Context, workshop int64, name, password string) (id int64, err error) {
	name = strings.TrimSpace(name)
	if err := checkNewPassword(name, password); err != nil {
		return 0, err
	}
	hash, err := hashPassword(ctx, password)
	if err != nil {
		return 0, err
	}
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.LockWorkshop(ctx, workshop); err != nil {
			return err
		}
		switch has, err := tx.HasOwner(ctx, workshop); {
		case err != nil:
			return err
		case has:
			return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Message: "There is an owner already. Sign in, or ask the owner for a link."}}}
		}
		if id, err = tx.AddUser(ctx, workshop, name, store.Owner); err != nil {
			return err
		}
		return tx.SetPasswordHash(ctx, id, hash)
	})
	return id, err
}

// AddPerson adds somebody who may sign in, and returns the word of the link with which they
// choose a password.
func (s *Service) AddPerson(ctx context.Context, workshop int64, name, role string) (word string, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		id, err := tx.AddUser(ctx, workshop, strings.TrimSpace(name), role)
		if err != nil {
			return err
		}
		word, err = newLink(ctx, tx, id)
		return err
	})
	return word, err
}

// OwnerLink adds an owner, or finds the owner of this name, and returns the word of a link
// with which they choose a password. It is for whoever holds the machine.
func (s *Service) OwnerLink(ctx context.Context, workshop int64, name string) (string, error) {
	known, err := s.store.UserNamed(ctx, workshop, strings.TrimSpace(name))
	switch {
	case isNotFound(err):
		return s.AddPerson(ctx, workshop, name, store.Owner)
	case err != nil:
		return "", err
	case known.Role != store.Owner:
		return "", store.Wrong("name", fmt.Sprintf("%s is a helper, not an owner; choose another name.", known.Name))
	}
	return newLink(ctx, s.store, known.ID)
}

// NewLink returns the word of a link with which somebody chooses a new password; the old
// password works until then.
func (s *Service) NewLink(ctx context.Context, workshop, user int64) (string, error) {
	if _, err := s.User(ctx, workshop, user); err != nil {
		return "", err
	}
	return newLink(ctx, s.store, user)
}

func newLink(ctx context.Context, tx *store.Store, user int64) (string, error) {
	bytes := make([]byte, 24)
	_, _ = rand.Read(bytes) // never fails: see its documentation
	word := base64.RawURLEncoding.EncodeToString(bytes)
	return word, tx.SetInvitation(ctx, user, digest(word), LinkLasts)
}

func digest(word string) []byte {
	sum := sha256.Sum256([]byte(word))
	return sum[:]
}

// Invitation returns the person to whom a link belongs.
func (s *Service) Invitation(ctx context.Context, workshop int64, word string) (store.User, error) {
	return s.store.Invited(ctx, workshop, digest(word))
}

// Join uses a link to choose a password, which signs the person out elsewhere.
func (s *Service) Join(ctx context.Context, workshop int64, word, password string) (store.User, error) {
	user, err := s.Invitation(ctx, workshop, word)
	if err != nil {
		return user, err
	}
	if err := checkNewPassword(user.Name, password); err != nil {
		return user, err
	}
	hash, err := hashPassword(ctx, password)
	if err != nil {
		return user, err
	}
	return user, s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.TakeInvitation(ctx, digest(word)); err != nil {
			return err
		}
		if err := tx.SetPasswordHash(ctx, user.ID, hash); err != nil {
			return err
		}
		return tx.EndOtherSignIns(ctx, user.ID, 0)
	})
}

// errWrongPassword doesn't say which of the two was wrong.
var errWrongPassword = store.Wrong("password", "This name and this password don't go together.")

// nobody is compared with where there is no password, so that a wrong name takes as long as a
// wrong password.
const nobody = "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$Y2xpbWJpbmdyb3NlY2xpbWJpbmdyb3NlY2xpbWJpbmc"

// CheckPassword returns the person whose name and password these are.
func (s *Service) CheckPassword(ctx context.Context, workshop int64, name, password string) (store.User, error) {
	user, err := s.store.UserNamed(ctx, workshop, strings.TrimSpace(name))
	if err != nil && !isNotFound(err) {
		return user, err
	}
	hash := nobody
	if err == nil && user.Joined {
		if hash, err = s.store.PasswordHash(ctx, user.ID); err != nil {
			return user, err
		}
	}
	if utf8.RuneCountInString(password) > longestPassword {
		return store.User{}, errWrongPassword
	}
	match := false
	err = withHashing(ctx, func() error {
		match, err = argon2id.ComparePasswordAndHash(password, hash)
		return err
	})
	if err != nil {
		return store.User{}, err
	}
	if !match || hash == nobody {
		return store.User{}, errWrongPassword
	}
	return user, nil
}

// ChangePassword gives a person a new password and signs them out in every other browser.
func (s *Service) ChangePassword(ctx context.Context, workshop int64, in store.SignIn, old, password string) error {
	if _, err := s.CheckPassword(ctx, workshop, in.Name, old); err != nil {
		if fault := (*store.Fault)(nil); errors.As(err, &fault) {
			return store.Wrong("old_password", "This is not your present password.")
		}
		return err
	}
	if err := checkNewPassword(in.Name, password); err != nil {
		return err
	}
	hash, err := hashPassword(ctx, password)
	if err != nil {
		return err
	}
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SetPasswordHash(ctx, in.UserID, hash); err != nil {
			return err
		}
		return tx.EndOtherSignIns(ctx, in.UserID, in.ID)
	})
}
