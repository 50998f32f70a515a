package job

import "tenths/internal/judge"

// Progress is how far a job has come, in counts.
type Progress struct {
	Readings  int  `json:"readings"` // that were taken
	Struck    int  `json:"struck"`
	Spots     int  `json:"spots"`    // that the book's lines for this engine look at
	Measured  int  `json:"measured"` // of them, those with a reading that stands
	Lines     int  `json:"lines"`    // verdicts that are graded
	Beyond    int  `json:"beyond"`
	Undecided int  `json:"undecided"` // something of it is open, or a person must settle it
	Short     int  `json:"short"`     // serviceable, where new limits were agreed to
	Parts     int  `json:"parts"`     // that have lines
	Signed    int  `json:"signed"`    // of them, those signed as performed and as inspected
	Closed    bool `json:"closed"`
}

// Progress counts how far the job has come.
func (j *Judged) Progress() Progress {
	s := j.State
	p := Progress{Readings: len(s.Readings), Struck: len(s.Strikes), Closed: s.Closed != nil}
	looked := make([]bool, len(j.Book.Spots))
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		for _, id := range v.Line.Instances[v.At].Spots {
			if looked[id] {
				continue
			}
			looked[id] = true
			p.Spots++
			if len(j.Readings.At(id)) > 0 {
				p.Measured++
			}
		}
		if v.Ungraded != "" {
			continue
		}
		p.Lines++
		if v.Grade == judge.Beyond {
			p.Beyond++
		}
		if !v.Decided() {
			p.Undecided++
		}
		if s.About.Limits == NewLimits && v.Grade == judge.Serviceable && len(v.Limit.Tiers) > 0 && v.Limit.Tiers[0].Name == "new" {
			p.Short++
		}
	}
	for _, part := range j.parts() {
		p.Parts++
		_, performed := j.signed(part.Key, Performed)
		if _, inspected := j.signed(part.Key, Inspected); performed && inspected {
			p.Signed++
		}
	}
	return p
}
