package book

// A Code names one sort of fault in a book, for programs and for search.
type Code struct{ Code, Meaning string }

// Codes are all the sorts of fault that [Load] tells of.
var Codes = []Code{
	{"syntax", "the text is not YAML, or not UTF-8; nothing of that top-level key was read"},
	{"shape", "a list where one value belongs, or the like"},
	{"alias", "an anchor or an alias: values are written out"},
	{"unknown-key", "a key that is not one of those known there"},
	{"doubled-key", "a key or a name that stands twice"},
	{"missing", "something that must be said is not"},
	{"format", "the book is of a format that this program does not read"},
	{"name", "a name that is not of the form a spot's text needs"},
	{"choice", "a word that is none of those it can be"},
	{"count", "a number of things that is not a count, or too many spots in all"},
	{"unit", "a unit that is not known, or of the wrong kind"},
	{"figure", "a place along the part, an angle or the like that can't be read as a figure, or is out of range"},
	{"kind", "a feature of a kind that the line or the key has no use for"},
	{"planes", "planes or directions that the line needs and the feature has not, or out of order"},
	{"judges", "a line that judges nothing, or two things"},
	{"expression", "what a line judges can't be read"},
	{"nowhere", "a name that leads nowhere"},
	{"mates", "features that do not pair, or a pairing that names what is not there"},
	{"limit", "a limit that can't be read for certain"},
	{"limit-order", "limits that contradict each other: service inside new, least above most"},
}
