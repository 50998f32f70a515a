package check

func Cost(m Mend) float64 { return m.cost }
