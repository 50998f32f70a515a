package book

import _ "embed"

// Schema is the JSON Schema (draft 2020-12) of a book's file, for editors that
// complete and check as one types. It knows keys, words and shapes; whether
// names lead somewhere and limits agree, only [Load] tells. It is made from
// the types that Load reads into, by a test that keeps it current.
//
//go:embed book.schema.json
var Schema string

// SettledSchema is that of the file beside a book in which what was settled stands.
//
//go:embed settled.schema.json
var SettledSchema string
