package store

import "context"

// KeepDrawing keeps a drawing for a day, and lets go of older ones.
func (s *Store) KeepDrawing(ctx context.Context, workshop int64, name string, content []byte) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		if _, err := s.db.Exec(ctx, `DELETE FROM drawings WHERE workshop_id = @workshop AND created_at < now() - interval '1 day'`, args{"workshop": workshop}); err != nil {
			return fault(err)
		}
		id, err = scalar[int64](ctx, s.db, `INSERT INTO drawings (workshop_id, name, content) VALUES (@workshop, @name, @content) RETURNING id`,
			args{"workshop": workshop, "name": name, "content": content})
		return err
	})
	return id, err
}

// Drawing is a drawing that is being looked at.
type Drawing struct {
	Name    string
	Content []byte
}

// Drawing returns a drawing that was kept.
func (s *Store) Drawing(ctx context.Context, workshop, id int64) (Drawing, error) {
	return one[Drawing](ctx, s.db, "drawing", `SELECT name, content FROM drawings WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// RemoveDrawing lets go of a drawing.
func (s *Store) RemoveDrawing(ctx context.Context, workshop, id int64) error {
	_, err := s.db.Exec(ctx, `DELETE FROM drawings WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
	return fault(err)
}
