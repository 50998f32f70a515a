package sqlite

import "context"

// Say says something to SQLite where writing is done.
func (s *Store) Say(ctx context.Context, text string) error {
	_, err := s.writer.conn.ExecContext(ctx, text)
	return err
}

// Current is the version of the schema.
const Current = current
