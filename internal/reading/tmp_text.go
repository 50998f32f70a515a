package reading

import "strconv"

// Text is what the reading says, as it was shown.
func (r *Reading) Text() string { return r.Shown.String() }

// StageName names a stage.
func StageName(stage int) string { return "rework " + strconv.Itoa(stage) }
