package shoplog

import "fmt"

// Words says what happened, in a sentence.
func Words(f Fact) string {
	switch f := f.(type) {
	case *ShopMade:
		return fmt.Sprintf("shop made: %s, with the key %s", f.Name, f.Key)
	case *PersonChanged:
		return fmt.Sprintf("person changed: %s is %s (%s)", f.Handle, f.Full(), f.Why)
	case *PersonAdded:
		return fmt.Sprintf("person added: %s is %s", f.Handle, f.Full())
	case *PolicySet:
		if f.TwoPeople {
			return "policy set: who performed a step may not inspect it (" + f.Why + ")"
		}
		return "policy set: one person may perform and inspect a step (" + f.Why + ")"
	case *EditionAdopted:
		text := fmt.Sprintf("edition adopted: %.16s, %s, by %s", f.Edition, f.Engine, f.Manual)
		for _, a := range f.Amendments {
			text += "; amended by " + a
		}
		return text
	case *JobNumbered:
		return "job numbered: work order " + f.Order
	case *JobSealed:
		return fmt.Sprintf("job %s sealed with %d entries, root %s", f.Job, f.Size, f.Root)
	}
	return "of a kind that this version of tenths does not know"
}

// Full is everything that is said of a person but the handle.
func (f *PersonAdded) Full() string {
	text := f.String()
	if f.Scope != "" {
		text += ", for " + f.Scope
	}
	text += ", since " + f.Since
	if f.Until != "" {
		text += " until " + f.Until
	}
	return text
}
