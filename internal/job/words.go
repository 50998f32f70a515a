package job

import (
	"fmt"
	"strings"

	"tenths/internal/reading"
)

// Words says what happened, in a sentence. A strike names the entry that it
// strikes, which the state knows.
func (s *State) Words(e *Entry) string {
	switch f := e.What.(type) {
	case *JobOpened:
		text := fmt.Sprintf("job opened: %s, serial %s, for %s; %s", f.Model, f.Serial, f.Customer, f.Reason)
		if f.SinceNew != "" {
			text += "; " + f.SinceNew + " h since new"
		}
		if f.SinceOverhaul != "" {
			text += "; " + f.SinceOverhaul + " h since overhaul"
		}
		return text + fmt.Sprintf("; under %s, to %s limits, by edition %.16s", f.Authority, f.Limits, f.Edition)
	case *ConditionStated:
		return "condition stated: " + f.Name + "=" + f.Word
	case *ItemRegistered:
		text := "item registered: " + f.Item + ", a " + f.Part
		if f.Number != "" {
			text += ", part number " + f.Number
		}
		if f.Serial != "" {
			text += ", serial " + f.Serial
		}
		if f.Found != "" {
			text += ", found at " + f.Found
		}
		return text
	case *ItemFitted:
		return "item fitted: " + f.Item + " at " + f.Position
	case *ItemRemoved:
		return "item removed: " + f.Item + " from " + f.Position
	case *ItemReworked:
		return fmt.Sprintf("item reworked: %s, %s: %s; now at %s", f.Item, strings.Join(f.Sites, ", "), f.What, reading.StageName(f.Stage))
	case *ReadingTaken:
		return "reading taken: " + f.String()
	case *ReadingStruck:
		for i := range s.Strikes {
			if s.Strikes[i].Seq == e.Seq {
				return fmt.Sprintf("reading struck: entry %d (%s)", s.Strikes[i].Reading, f.Why)
			}
		}
		return "reading struck (" + f.Why + ")"
	case *SpotSkipped:
		return "spot skipped: " + f.Spot + " (" + f.Why + ")"
	case *EditionChanged:
		return fmt.Sprintf("edition changed: %.16s, %s; %s accepted, list %.16s", f.Edition, f.Manual, plural(len(f.Alters)+f.More, "change"), f.List)
	case *NoteWritten:
		about := ""
		if f.Spot+f.Item != "" {
			about = " on " + strings.TrimSpace(f.Spot+" "+f.Item)
		}
		return "note" + about + ": " + f.Text
	case *StepSigned:
		return "step signed as " + f.As + ": " + f.Step + ": " + f.Statement
	case *HandedOver:
		if f.Note != "" {
			return "handed over to " + f.To + ": " + f.Note
		}
		return "handed over to " + f.To
	case *InspectionClosed:
		return "inspection closed: " + f.Statement
	case *InspectionReopened:
		return "inspection reopened: " + f.Why
	}
	return e.Kind + ": of a kind that this version of tenths does not know"
}

// String returns where, what and how.
func (f *ReadingTaken) String() string {
	text := f.Spot + " " + f.Value
	if how := f.How(); how != "" {
		text += ", " + how
	}
	return text
}

// How returns of which item a reading is, with what it was taken, by whom and
// when, and at which stage: what was said of it beside spot and figure.
func (f *ReadingTaken) How() string {
	var all []string
	for _, more := range []struct{ before, text string }{
		{"", f.Sense}, {"", f.Item}, {"step ", f.Step}, {"", f.Gauge}, {"", f.Temperature}, {"read by ", f.ReadBy}, {"", f.ReadAt}, {"", f.Note},
	} {
		if more.text != "" {
			all = append(all, more.before+more.text)
		}
	}
	if f.Stage != 0 {
		all = append(all, reading.StageName(f.Stage))
	}
	if len(f.With) > 0 {
		all = append(all, "with "+strings.Join(f.With, ", "))
	}
	if f.Known > 0 {
		all = append(all, fmt.Sprintf("taken when entry %d was the last known", f.Known))
	}
	return strings.Join(all, ", ")
}
