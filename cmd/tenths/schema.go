package main

import (
	"io"

	"github.com/spf13/cobra"

	"tenths/internal/book"
)

func schemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of books, for editors",
		Long: `Print the JSON Schema of books, by which an editor completes keys and words as
one types, explains them, and marks what is misspelt or of the wrong shape.

Write it to a file beside the book, and make this comment the book's first line;
many editors read it, some with an extension for YAML:

  # yaml-language-server: $schema=book.schema.json

Whether names lead somewhere and limits agree, only "tenths book check" tells.`,
		Example: "  tenths book schema",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), book.Schema)
			return err
		},
	}
}
