package table

import (
	"archive/zip"
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// An Out is a sheet to be written: rows of text, of which the first so many are
// its head.
type Out struct {
	Name   string
	Head   int
	Widths []int // of the columns, in characters
	Rows   [][]string
}

// WriteXLSX writes a workbook. Every cell is text, and is marked so: what one
// types over it stays as it was typed, 2.2490 with its nought, and nothing that
// begins like a formula is one.
func WriteXLSX(to io.Writer, sheets ...Out) error {
	z := zip.NewWriter(to)
	part := func(name, text string) error {
		w, err := z.Create(name)
		if err == nil {
			_, err = io.WriteString(w, xml.Header+text)
		}
		return err
	}
	var types, list, rels strings.Builder
	for i, s := range sheets {
		fmt.Fprintf(&types, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`, i+1)
		fmt.Fprintf(&list, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, escaped(sheetName(s.Name, i)), i+1, i+1)
		fmt.Fprintf(&rels, `<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, i+1, related, i+1)
	}
	fmt.Fprintf(&rels, `<Relationship Id="rId%d" Type="%s/styles" Target="styles.xml"/>`, len(sheets)+1, related)
	const packages = "http://schemas.openxmlformats.org/package/2006/"
	for _, p := range []struct{ name, text string }{
		{"[Content_Types].xml", `<Types xmlns="` + packages + `content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>` + types.String() + `</Types>`},
		{"_rels/.rels", `<Relationships xmlns="` + packages + `relationships"><Relationship Id="rId1" Type="` + related + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="` + spread1 + `" xmlns:r="` + related + `"><sheets>` + list.String() + `</sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + packages + `relationships">` + rels.String() + `</Relationships>`},
		{"xl/styles.xml", styleSheet},
	} {
		if err := part(p.name, p.text); err != nil {
			return err
		}
	}
	for i := range sheets {
		w, err := z.Create(fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1))
		if err != nil {
			return err
		}
		b := bufio.NewWriter(w)
		sheets[i].write(b)
		if err := b.Flush(); err != nil {
			return err
		}
	}
	return z.Close()
}

const (
	spread1 = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	related = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"

	// The styles: 0 as nothing says, 1 text, 2 the text of a head.
	styleSheet = `<styleSheet xmlns="` + spread1 + `"><fonts count="2"><font><sz val="11"/><name val="Calibri"/></font><font><b/><sz val="11"/><name val="Calibri"/></font></fonts><fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="3"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/><xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/><xf numFmtId="49" fontId="1" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" applyFont="1"/></cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`
)

func (s *Out) write(b *bufio.Writer) {
	b.WriteString(xml.Header + `<worksheet xmlns="` + spread1 + `">`)
	if s.Head > 0 {
		fmt.Fprintf(b, `<sheetViews><sheetView workbookViewId="0"><pane ySplit="%d" topLeftCell="A%d" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews>`, s.Head, s.Head+1)
	}
	if len(s.Widths) > 0 {
		b.WriteString("<cols>")
		for i, w := range s.Widths {
			fmt.Fprintf(b, `<col min="%d" max="%d" width="%d" style="1" customWidth="1"/>`, i+1, i+1, w)
		}
		b.WriteString("</cols>")
	}
	b.WriteString("<sheetData>")
	for n, row := range s.Rows {
		style := 1
		if n < s.Head {
			style = 2
		}
		fmt.Fprintf(b, `<row r="%d">`, n+1)
		for i, text := range row {
			if text == "" {
				fmt.Fprintf(b, `<c r="%s%d" s="%d"/>`, columnName(i), n+1, style)
				continue
			}
			fmt.Fprintf(b, `<c r="%s%d" s="%d" t="inlineStr"><is><t xml:space="preserve">%s</t></is></c>`, columnName(i), n+1, style, escaped(text))
		}
		b.WriteString("</row>")
	}
	b.WriteString("</sheetData></worksheet>")
}

// columnName is A to Z, AA and so on; column counts from 0.
func columnName(column int) string {
	name := ""
	for column++; column > 0; column = (column - 1) / 26 {
		name = string(rune('A'+(column-1)%26)) + name
	}
	return name
}

// sheetName is a name that spreadsheets take.
func sheetName(name string, n int) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:\/?*[]'`, r) || r < ' ' {
			return ' '
		}
		return r
	}, name)
	for utf8.RuneCountInString(name) > 31 {
		_, size := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-size]
	}
	if name = strings.TrimSpace(name); name == "" {
		return fmt.Sprintf("Sheet %d", n+1)
	}
	return name
}

// escaped is text as XML has it, without what XML can't have.
func escaped(text string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' {
			return -1
		}
		return r
	}, text))); err != nil {
		panic("BUG: writing to memory: " + err.Error())
	}
	return b.String()
}

// WriteCSV writes comma-separated values in UTF-8 with a byte order mark, which
// spreadsheets want. A cell that a spreadsheet would take for a formula gets an
// apostrophe before it, which [Read] takes off.
func WriteCSV(to io.Writer, rows [][]string) error {
	b := bufio.NewWriter(to) // it keeps the first error
	b.WriteString("\ufeff")
	for _, row := range rows {
		for i, text := range row {
			if i > 0 {
				b.WriteByte(',')
			}
			if text = Safe(text); strings.ContainsAny(text, "\",;\t\r\n") {
				// What could part the cells otherwise is quoted as well.
				text = `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
			}
			b.WriteString(text)
		}
		b.WriteString("\r\n")
	}
	return b.Flush()
}

// Safe is text that no spreadsheet takes for a formula.
func Safe(text string) string {
	if formula(text) {
		return "'" + text
	}
	return text
}

// formula tells text that a spreadsheet takes for a formula, or would but for
// the apostrophes before it.
func formula(text string) bool {
	rest := strings.TrimLeft(text, "'")
	return rest != "" && strings.ContainsRune("=+-@\t\r\n", rune(rest[0]))
}

// unsafe takes off the apostrophe of [Safe].
func unsafe(text string) string {
	if strings.HasPrefix(text, "'") && formula(text) {
		return text[1:]
	}
	return text
}
