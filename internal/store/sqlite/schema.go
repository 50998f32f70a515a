package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"fmt"
	"io"
	"slices"
	"strconv"
	"sync"

	"tenths/internal/store"
)

// schema/N.sql makes version N of version N−1. A file that was released never
// changes again.
//
//go:embed schema
var schema embed.FS

// current is the version that this program reads and writes.
const current = 2

// application is what SQLite's header says the file is: "Tnth".
const application = 0x546e7468

// versionOf tells the version of the file, which it refuses where it is not
// one of ours.
func versionOf(ctx context.Context, db *sql.DB, path string) (version int, err error) {
	var app int32
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&app); err != nil {
		return 0, told(err)
	}
	if app != application {
		return 0, fmt.Errorf("%s is not the record of a shop: it carries the mark %#x, and a record %#x", path, uint32(app), application)
	}
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, told(err)
	}
	if version < 1 {
		return 0, store.Damaged("%s says it is of version %d, and the first was 1", path, version)
	}
	if version > current {
		return 0, fmt.Errorf("%s is of version %d, and this program knows versions up to %d: use the program that wrote it, or a newer one", path, version, current)
	}
	return version, nil
}

// create makes an empty file into a record. Nothing of it is left to the -wal,
// so that a record without its -wal is still one.
func create(ctx context.Context, path string) error {
	db, err := connect(path, "synchronous(FULL)", "fullfsync(1)")
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	return migrate(ctx, db)
}

// migrate brings the file to the current version, all of it or nothing.
func migrate(ctx context.Context, db *sql.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return told(err)
	}
	defer tx.Rollback()
	// Asked here once more: another program may have been quicker.
	var version int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return told(err)
	}
	if err := upgrade(ctx, tx, version); err != nil {
		return err
	}
	return told(tx.Commit())
}

func upgrade(ctx context.Context, tx *sql.Tx, version int) error {
	for version < current {
		version++
		text, err := schema.ReadFile(fmt.Sprintf("schema/%d.sql", version))
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, string(text)); err != nil {
			return fmt.Errorf("the record can't be brought to version %d and stays as it was: %w", version, told(err))
		}
	}
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d", version, application))
	return told(err)
}

// checkSchema compares what the file says of its tables with what the schema's
// files make.
func checkSchema(ctx context.Context, db *sql.DB) error {
	want, err := wanted()
	if err != nil {
		return err
	}
	have, err := describe(ctx, db)
	if err != nil {
		return told(err)
	}
	if !slices.Equal(have, want) {
		return store.Damaged("the tables of the file are not those of a record")
	}
	return nil
}

var wanted = sync.OnceValues(func() ([]string, error) {
	ctx := context.Background()
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if err := migrate(ctx, db); err != nil {
		return nil, err
	}
	return describe(ctx, db)
})

func describe(ctx context.Context, db *sql.DB) (what []string, err error) {
	rows, err := db.QueryContext(ctx, `
		SELECT concat_ws(' ', type, name, tbl_name, sql) AS text FROM sqlite_master
		UNION ALL SELECT 'auto_vacuum ' || auto_vacuum FROM pragma_auto_vacuum
		UNION ALL SELECT encoding FROM pragma_encoding
		ORDER BY text`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		what = append(what, text)
	}
	return what, rows.Err()
}

// sum is what guards a row of one of the smaller tables, see schema/1.sql.
func sum(columns ...string) []byte {
	h := sha256.New()
	for _, c := range columns {
		io.WriteString(h, strconv.Itoa(len(c))+":")
		io.WriteString(h, c)
	}
	return h.Sum(nil)
}
