package main

import (
	"encoding/json"
	"io"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/judge"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// The JSON that judge prints, schema tenths/judge/1. Figures are texts with
// their unit, never numbers of JSON's. Later versions only add to it.
type (
	jsonRun struct {
		Schema     string        `json:"schema"`
		Engine     string        `json:"engine"`
		Manual     jsonManual    `json:"manual"`
		Numbering  string        `json:"numbering,omitempty"`
		Incomplete bool          `json:"incomplete"`
		Counts     counts        `json:"counts"`
		Verdicts   []jsonVerdict `json:"verdicts"`
		Faults     []jsonFault   `json:"faults"`
	}
	jsonManual struct {
		Title    string `json:"title,omitempty"`
		Number   string `json:"number,omitempty"`
		Revision string `json:"revision,omitempty"`
		Date     string `json:"date,omitempty"`
	}
	jsonVerdict struct {
		ID        string      `json:"id"`
		Line      string      `json:"line"`
		Instance  string      `json:"instance,omitempty"`
		Part      string      `json:"part"`
		Sites     []string    `json:"sites"`
		Ref       string      `json:"ref,omitempty"`
		Page      string      `json:"page,omitempty"`
		Name      string      `json:"name"`
		Judges    string      `json:"judges"`
		Grade     string      `json:"grade"`
		SoFar     string      `json:"so_far,omitempty"`
		Low       *jsonFigure `json:"low,omitempty"`
		High      *jsonFigure `json:"high,omitempty"`
		Beyond    *jsonFigure `json:"beyond_by,omitempty"`
		Allowance *int64      `json:"allowance_used_percent,omitempty"`
		Tiers     []jsonTier  `json:"limits"`
		LimitKind string      `json:"limit_kind"`
		Held      *jsonTier   `json:"limit_held,omitempty"`
		Open      []string    `json:"open"`
		Asks      []jsonAsk   `json:"asks"`
		Ungraded  string      `json:"not_graded,omitempty"`
		Tier      string      `json:"tier,omitempty"`
		Action    string      `json:"action,omitempty"`
		Between   bool        `json:"between,omitempty"`
		Steps     []string    `json:"steps,omitempty"`
		Wrong     string      `json:"wrong_mates,omitempty"`
		Picks     []string    `json:"picks,omitempty"`
		Amendment string      `json:"amendment,omitempty"`
		Measured  string      `json:"measured_as,omitempty"`
	}
	jsonFigure struct {
		Value string `json:"value"`
		Unit  string `json:"unit"`
		Exact *bool  `json:"exact,omitempty"` // false where digits were dropped
	}
	jsonTier struct {
		Name    string      `json:"name"`
		Printed string      `json:"printed"`
		Min     *jsonFigure `json:"min,omitempty"`
		MinOpen bool        `json:"min_open,omitempty"`
		Max     *jsonFigure `json:"max,omitempty"`
		MaxOpen bool        `json:"max_open,omitempty"`
	}
	jsonAsk struct {
		Kind string `json:"kind"`
		Spot string `json:"spot,omitempty"`
		Text string `json:"text"`
	}
	jsonFault struct {
		File   string `json:"file"`
		Row    int    `json:"row"`
		Column int    `json:"column"`
		Field  string `json:"field,omitempty"`
		Code   string `json:"code"`
		Text   string `json:"text,omitempty"`
		What   string `json:"what"`
		Do     string `json:"do,omitempty"`
	}
)

const jsonSchema = "tenths/judge/1"

func (r *judged) json(out io.Writer) error {
	m := r.book.Manual
	doc := jsonRun{
		Schema: jsonSchema, Engine: r.book.Engine, Manual: jsonManual(m),
		Numbering:  r.book.Numbering.String(),
		Incomplete: len(r.file.Faults) > 0, Counts: r.counts(),
		Verdicts: make([]jsonVerdict, 0, len(r.verdicts)), Faults: jsonFaults(r.file.Faults),
	}
	for i := range r.verdicts {
		doc.Verdicts = append(doc.Verdicts, r.jsonVerdict(&r.verdicts[i]))
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(doc)
}

func (r *judged) jsonVerdict(v *judge.Verdict) jsonVerdict {
	l := v.Line
	j := jsonVerdict{
		ID: l.ID(v.At), Line: l.Key, Instance: l.Instances[v.At].Label, Part: l.Part().Key,
		Ref: l.Ref, Page: l.Page, Name: l.Name, Judges: l.Judges.String(),
		Grade: v.Grade.String(), LimitKind: v.Limit.Kind.String(),
		Open: []string{}, Asks: []jsonAsk{}, Tiers: []jsonTier{},
	}
	j.Ungraded, j.Action, j.Between, j.Steps, j.Wrong, j.Measured = v.Ungraded, v.Action(), v.Between, v.Steps, v.Wrong, l.As
	if v.SoFar != judge.NoGrade && v.Tier < len(v.Limit.Tiers) {
		j.Tier = v.Limit.Tiers[v.Tier].Name
	}
	for _, i := range v.Picks {
		j.Picks = append(j.Picks, l.Choices[i].Text)
	}
	if l.Amendment != nil {
		j.Amendment = l.Amendment.Number
	}
	for _, s := range l.Instances[v.At].Sites {
		j.Sites = append(j.Sites, s.String())
	}
	if v.Measured && len(v.Limit.Tiers) > 0 {
		if !v.NoLow {
			j.Low = figureJSON(l, v.Ends.Low)
		}
		if !v.NoHigh {
			j.High = figureJSON(l, v.Ends.High)
		}
		if v.Open() && v.Grade == judge.NoGrade {
			j.SoFar = v.SoFar.String()
		}
	}
	if by, ok := v.By(); ok && v.Grade == judge.Beyond {
		j.Beyond = figureJSON(l, by)
	}
	if v.HasAllowance {
		j.Allowance = &v.Allowance
	}
	for _, t := range v.Limit.Tiers {
		j.Tiers = append(j.Tiers, tierJSON(l, t.Name, t.Printed, t.Range))
	}
	if h := v.Limit.Held; h != nil {
		last := v.Limit.Tiers[len(v.Limit.Tiers)-1]
		held := tierJSON(l, last.Name, last.Printed, *h)
		j.Held = &held
	}
	for _, id := range v.Missing {
		if !v.Open() {
			break
		}
		j.Open = append(j.Open, r.book.Spots[id].String())
	}
	for _, a := range v.Asks {
		ask := jsonAsk{Kind: a.Kind.String(), Text: r.words.Ask(v, a, r.readings.At)}
		if a.Kind == judge.Settle {
			ask.Spot = r.book.Spots[a.Spot].String()
		}
		j.Asks = append(j.Asks, ask)
	}
	return j
}

// figureJSON prints a figure in the line's unit: as many decimals as the
// line's limits, or more where the figure needs them.
func figureJSON(l *book.Line, f quantity.Figure) *jsonFigure {
	text, exact := f.Text(l.Unit, max(l.Decimals, f.Decimals(l.Unit, 9)))
	j := &jsonFigure{Value: text, Unit: l.Unit.String()}
	if !exact {
		j.Exact = &exact
	}
	return j
}

func tierJSON(l *book.Line, name, printed string, r limit.Range) jsonTier {
	t := jsonTier{Name: name, Printed: printed, MinOpen: r.Min.Open, MaxOpen: r.Max.Open}
	if r.Min.Set {
		t.Min = figureJSON(l, r.Min.At)
	}
	if r.Max.Set {
		t.Max = figureJSON(l, r.Max.At)
	}
	return t
}

func jsonFaults(list fault.List) []jsonFault {
	all := make([]jsonFault, len(list))
	for i, f := range list {
		all[i] = jsonFault{f.File, f.Line, f.Column, f.Field, f.Code, f.Text, f.What, f.Do}
	}
	return all
}
