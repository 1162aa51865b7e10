package store_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/store"
)

// Of two owners who remove each other at once, one stays.
func TestAnOwnerStays(t *testing.T) {
	t.Parallel()
	ctx, s := t.Context(), store.New(pool(t))
	room, err := s.AddWorkshop(ctx, "Room")
	require.NoError(t, err)
	var owners []int64
	for _, name := range []string{"A", "B"} {
		id, err := s.AddUser(ctx, room, name, store.Owner)
		require.NoError(t, err)
		require.NoError(t, s.SetPasswordHash(ctx, id, "hash"))
		owners = append(owners, id)
	}
	var wait sync.WaitGroup
	refused := make([]error, 2)
	for i, id := range owners {
		wait.Go(func() { refused[i] = s.RemoveUser(ctx, room, id) })
	}
	wait.Wait()
	require.True(t, (refused[0] == nil) != (refused[1] == nil), "%v, %v", refused[0], refused[1])
	left, err := s.Users(ctx, room)
	require.NoError(t, err)
	require.Len(t, left, 1)

	// One who has not chosen a password yet can't be the only one left.
	waiting, err := s.AddUser(ctx, room, "C", store.Owner)
	require.NoError(t, err)
	requireFault(t, s.RemoveUser(ctx, room, left[0].ID), store.Conflict, "", "the last owner")
	require.NoError(t, s.RemoveUser(ctx, room, waiting))
	require.NoError(t, s.RemoveWorkshop(ctx, room), "a workshop goes with its people")
}

func TestPeopleAtTheirFields(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id, err := b.AddUser(ctx, b.workshop, "Ines", store.Helper)
	require.NoError(t, err)
	for _, test := range []struct{ name, user, role, field, message string }{
		{"no name", " ", store.Helper, "name", "Write a name"},
		{"taken", "INES", store.Owner, "name", "already"},
		{"role", "Tilda", "queen", "role", "owner or helper"},
	} {
		t.Run(test.name, func(t *testing.T) {
			err := b.InTx(ctx, func(tx *store.Store) error {
				_, err := tx.AddUser(ctx, b.workshop, test.user, test.role)
				return err
			})
			requireFault(t, err, store.Invalid, test.field, test.message)
		})
	}
	digest := []byte("digest")
	require.NoError(t, b.SetInvitation(ctx, id, digest, -time.Minute))
	_, err = b.Invited(ctx, b.workshop, digest)
	requireFault(t, err, store.NotFound, "", "was not found")
	require.NoError(t, b.SetInvitation(ctx, id, digest, time.Minute))
	user, err := b.Invited(ctx, b.workshop, digest)
	require.NoError(t, err)
	require.Equal(t, "Ines", user.Name)
	require.False(t, user.Joined)
	require.NoError(t, b.TakeInvitation(ctx, digest))
	requireFault(t, b.TakeInvitation(ctx, digest), store.NotFound, "", "was not found")

	in, err := b.AddSignIn(ctx, id, "Firefox", "127.0.0.1", time.Hour)
	require.NoError(t, err)
	seen, err := b.SignedIn(ctx, b.workshop, in, time.Hour)
	require.NoError(t, err)
	require.Equal(t, store.Helper, seen.Role)
	_, err = b.SignedIn(ctx, b.workshop+1, in, time.Hour)
	requireFault(t, err, store.NotFound, "", "was not found")
}
