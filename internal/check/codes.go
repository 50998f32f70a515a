package check

// A Code names one sort of finding, for programs, for acknowledging and for
// search.
type Code struct {
	Code     string
	Severity Severity
	Meaning  string
}

// Codes are all the sorts of finding.
var Codes = []Code{
	{"fit-sum", Doubt, "the new limits of a fit are not those of the bore less those of the shaft"},
	{"stack-sum", Doubt, "the same of a fit of more than two sizes: bore − two shells − journal"},
	{"fit-rounded", Note, "the fit agrees with the sizes as far as its fewer decimals show"},
	{"fit-service-tighter", Note, "the service limit of the fit is tighter than the sizes at their service limits: both must be met"},
	{"fit-service-looser", Doubt, "the service limit of the fit is looser than the sizes at their service limits can make it"},
	{"fit-service-below-new", Doubt, "sizes within their new limits make a fit that is beyond its service limit"},
	{"service-inside", Fault, "the service limit lies inside the new limits, or on the wrong side of them"},
	{"limits-crossed", Fault, "no figure can meet the limits: the least is above the most"},
	{"service-is-amount", Fault, "the service limit is far from the size: an amount of wear among sizes"},
	{"service-equals-new", Note, "the service limit is the new limit: no wear is allowed"},
	{"service-far", Doubt, "the wear allowed is very large beside the new limits"},
	{"range-wide", Doubt, "the two ends of the new limits are too far apart for one size"},
	{"range-reversed", Note, "the range is printed from large to small"},
	{"unit-mismatch", Fault, "the two printed units do not say the same size"},
	{"unit-unreadable", Doubt, "the second unit is printed so that it can't be read; it checks nothing"},
	{"unit-truncated", Note, "the second unit is cut off, not rounded"},
	{"decimals", Note, "the figures of one cell are printed with different decimals"},
	{"step-uneven", Doubt, "the limits of an under- or oversize are not the standard ones moved by the step"},
	{"sibling-unlike", Doubt, "one line is unlike all its fellows"},
	{"ten-times", Doubt, "a limit is ten or a hundred times its sibling's: a nought dropped or added"},
	{"feature-twice", Doubt, "one thing stands in two rows with different figures"},
	{"page-missing", Note, "the line does not say its page, and others do"},
	{"page-gap", Note, "a page without lines among pages that have some: left out?"},
	{"reference-nowhere", Doubt, "what the line refers to is not in the book"},
}

var severities = func() map[string]Severity {
	all := map[string]Severity{}
	for _, c := range Codes {
		all[c.Code] = c.Severity
	}
	return all
}()

func severityOf(code string) Severity {
	s, ok := severities[code]
	if !ok {
		panic("BUG: a finding of no known code: " + code)
	}
	return s
}
