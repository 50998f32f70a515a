package main

import (
	"io"

	"github.com/spf13/cobra"

	"tenths/internal/book"
)

func schemaCommand() *cobra.Command {
	var settled bool
	c := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of books, for editors",
		Long: `Print the JSON Schema of books, by which an editor completes keys and words as
one types, explains them, and marks what is misspelt or of the wrong shape.

Write it to a file beside the book, and make this comment the book's first line;
many editors read it, some with an extension for YAML:

  # yaml-language-server: $schema=book.schema.json

With --settled it is the schema of the file beside a book, NAME.settled.yaml.

Whether names lead somewhere and limits agree, only "tenths book check" tells.`,
		Example: "  tenths book schema",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			schema := book.Schema
			if settled {
				schema = book.SettledSchema
			}
			_, err := io.WriteString(cmd.OutOrStdout(), schema)
			return err
		},
	}
	c.Flags().BoolVar(&settled, "settled", false, "the schema of what was settled of a book")
	return c
}
