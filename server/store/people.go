package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

// Roles of people.
const (
	Owner  = "owner"
	Helper = "helper"
)

// User is a person who may sign in.
type User struct {
	ID        int64
	Name      string
	Role      string
	CreatedAt time.Time
	// Joined: a password was chosen.
	Joined bool
	// SeenAt is when the person last used the pages; nil if never, or signed out since.
	SeenAt *time.Time
}

// SignIn is one browser in which a person is signed in.
type SignIn struct {
	ID              int64
	UserID          int64
	Name, Role      string
	Device, Address string
	CreatedAt       time.Time
	SeenAt          time.Time
}

// Pool returns the pool that the store works on; nil inside a transaction.
func (s *Store) Pool() *pgxpool.Pool {
	pool, _ := s.db.(*pgxpool.Pool)
	return pool
}

// HasOwner tells whether a workshop has an owner, so that people have to sign in.
func (s *Store) HasOwner(ctx context.Context, workshop int64) (bool, error) {
	return scalar[bool](ctx, s.db, `SELECT EXISTS (SELECT 1 FROM users WHERE workshop_id = @workshop AND role = 'owner' AND removed_at IS NULL)`, args{"workshop": workshop})
}

const userColumns = `u.id, u.name, u.role, u.created_at, u.password_hash IS NOT NULL AS joined, (SELECT max(s.seen_at) FROM sign_ins s WHERE s.user_id = u.id) AS seen_at`

// Users lists the people of a workshop, owners first.
func (s *Store) Users(ctx context.Context, workshop int64) ([]User, error) {
	return list[User](ctx, s.db, `SELECT `+userColumns+` FROM users u WHERE u.workshop_id = @workshop AND u.removed_at IS NULL ORDER BY u.role DESC, lower(u.name)`,
		args{"workshop": workshop})
}

// User returns one person.
func (s *Store) User(ctx context.Context, workshop, id int64) (User, error) {
	return one[User](ctx, s.db, "person", `SELECT `+userColumns+` FROM users u WHERE u.workshop_id = @workshop AND u.id = @id AND u.removed_at IS NULL`,
		args{"workshop": workshop, "id": id})
}

// UserNamed returns the person of a name, in capitals or not.
func (s *Store) UserNamed(ctx context.Context, workshop int64, name string) (User, error) {
	return one[User](ctx, s.db, "person", `SELECT `+userColumns+` FROM users u WHERE u.workshop_id = @workshop AND lower(u.name) = lower(@name) AND u.removed_at IS NULL`,
		args{"workshop": workshop, "name": name})
}

// PasswordHash returns how a person's password is kept; empty if none was chosen yet.
func (s *Store) PasswordHash(ctx context.Context, user int64) (string, error) {
	return scalar[string](ctx, s.db, `SELECT coalesce(password_hash, '') FROM users WHERE id = @user`, args{"user": user})
}

// AddUser adds a person without a password.
func (s *Store) AddUser(ctx context.Context, workshop int64, name, role string) (int64, error) {
	return scalar[int64](ctx, s.db, `INSERT INTO users (workshop_id, name, role) VALUES (@workshop, @name, @role) RETURNING id`,
		args{"workshop": workshop, "name": name, "role": role})
}

// LockWorkshop makes those who would change the same workshop take turns, until the end of
// the transaction.
func (s *Store) LockWorkshop(ctx context.Context, id int64) error {
	_, err := scalar[int64](ctx, s.db, `SELECT id FROM workshops WHERE id = @id FOR NO KEY UPDATE`, args{"id": id})
	return noRowMissing(err, "workshop")
}

// SetPasswordHash changes how a person's password is kept; links to choose one end.
func (s *Store) SetPasswordHash(ctx context.Context, user int64, hash string) error {
	return s.InTx(ctx, func(s *Store) error {
		if _, err := s.db.Exec(ctx, `DELETE FROM invitations WHERE user_id = @user`, args{"user": user}); err != nil {
			return fault(err)
		}
		return changed(ctx, s.db, "person", `UPDATE users SET password_hash = @hash WHERE id = @user AND removed_at IS NULL`, args{"user": user, "hash": hash})
	})
}

// RemoveUser keeps a person from signing in, and signs them out everywhere. The last owner
// stays.
func (s *Store) RemoveUser(ctx context.Context, workshop, id int64) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "person", `UPDATE users SET removed_at = now() WHERE workshop_id = @workshop AND id = @id AND removed_at IS NULL`,
			args{"workshop": workshop, "id": id})
		if err != nil {
			return err
		}
		for _, table := range []string{"sign_ins", "invitations"} {
			if _, err := s.db.Exec(ctx, `DELETE FROM `+table+` WHERE user_id = @id`, args{"id": id}); err != nil {
				return fault(err)
			}
		}
		return nil
	})
}

// PutBackUser lets a removed person sign in again.
func (s *Store) PutBackUser(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "person", `UPDATE users SET removed_at = NULL WHERE workshop_id = @workshop AND id = @id AND removed_at IS NOT NULL`,
		args{"workshop": workshop, "id": id})
}

// SetInvitation gives a person a link to choose a password; an earlier one ends.
func (s *Store) SetInvitation(ctx context.Context, user int64, digest []byte, lasts time.Duration) error {
	_, err := s.db.Exec(ctx, `
		INSERT INTO invitations (user_id, digest, expires_at) VALUES (@user, @digest, now() + make_interval(secs => @seconds))
		ON CONFLICT (user_id) DO UPDATE SET digest = EXCLUDED.digest, expires_at = EXCLUDED.expires_at`,
		args{"user": user, "digest": digest, "seconds": lasts.Seconds()})
	return fault(err)
}

// Invited returns the person to whom a link belongs.
func (s *Store) Invited(ctx context.Context, workshop int64, digest []byte) (User, error) {
	return one[User](ctx, s.db, "link", `SELECT `+userColumns+` FROM users u JOIN invitations i ON i.user_id = u.id
		WHERE u.workshop_id = @workshop AND u.removed_at IS NULL AND i.digest = @digest AND i.expires_at > now()`, args{"workshop": workshop, "digest": digest})
}

// TakeInvitation uses a link up; of two who try at once one is told that it isn't there.
func (s *Store) TakeInvitation(ctx context.Context, digest []byte) error {
	tag, err := s.db.Exec(ctx, `DELETE FROM invitations WHERE digest = @digest AND expires_at > now()`, args{"digest": digest})
	if err == nil && tag.RowsAffected() == 0 {
		return missing("link")
	}
	return fault(err)
}

// AddSignIn notes that a person has signed in, and forgets what is long over.
func (s *Store) AddSignIn(ctx context.Context, user int64, device, address string, idle time.Duration) (int64, error) {
	if _, err := s.db.Exec(ctx, `DELETE FROM sessions WHERE expiry < now()`); err != nil {
		return 0, fault(err)
	}
	if _, err := s.db.Exec(ctx, `DELETE FROM sign_ins WHERE seen_at < now() - make_interval(secs => @seconds)`, args{"seconds": idle.Seconds()}); err != nil {
		return 0, fault(err)
	}
	return scalar[int64](ctx, s.db, `INSERT INTO sign_ins (user_id, device, address) VALUES (@user, @device, @address) RETURNING id`,
		args{"user": user, "device": device, "address": address})
}

const signInColumns = `s.id, s.user_id, u.name, u.role, s.device, s.address, s.created_at, s.seen_at`

// SignedIn returns who is signed in; a sign-in that was ended, or not used for so long, isn't
// there any more.
func (s *Store) SignedIn(ctx context.Context, workshop, id int64, idle time.Duration) (SignIn, error) {
	return one[SignIn](ctx, s.db, "sign-in", `SELECT `+signInColumns+` FROM sign_ins s JOIN users u ON u.id = s.user_id
		WHERE s.id = @id AND u.workshop_id = @workshop AND u.removed_at IS NULL AND s.seen_at > now() - make_interval(secs => @seconds)`,
		args{"workshop": workshop, "id": id, "seconds": idle.Seconds()})
}

// SeenSignIn notes that a sign-in is in use.
func (s *Store) SeenSignIn(ctx context.Context, id int64) error {
	_, err := s.db.Exec(ctx, `UPDATE sign_ins SET seen_at = now() WHERE id = @id`, args{"id": id})
	return fault(err)
}

// SignIns lists where a person is signed in, the latest first.
func (s *Store) SignIns(ctx context.Context, user int64) ([]SignIn, error) {
	return list[SignIn](ctx, s.db, `SELECT `+signInColumns+` FROM sign_ins s JOIN users u ON u.id = s.user_id WHERE s.user_id = @user ORDER BY s.seen_at DESC, s.id DESC`,
		args{"user": user})
}

// EndSignIn signs a person out in one browser.
func (s *Store) EndSignIn(ctx context.Context, user, id int64) error {
	_, err := s.db.Exec(ctx, `DELETE FROM sign_ins WHERE user_id = @user AND id = @id`, args{"user": user, "id": id})
	return fault(err)
}

// EndOtherSignIns signs a person out everywhere but in one browser; 0 is everywhere.
func (s *Store) EndOtherSignIns(ctx context.Context, user, but int64) error {
	_, err := s.db.Exec(ctx, `DELETE FROM sign_ins WHERE user_id = @user AND id <> @but`, args{"user": user, "but": but})
	return fault(err)
}
