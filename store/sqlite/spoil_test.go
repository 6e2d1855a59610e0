package sqlite

import "context"

// SpoilRecord writes a record's body as another version of the program might have.
func (s *Store) SpoilRecord(ctx context.Context, id, body string) error {
	_, err := s.write.ExecContext(ctx, `UPDATE records SET body = ? WHERE id = ?`, body, id)
	return err
}
