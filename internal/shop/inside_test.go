package shop

// Waiting tells how many asks wait for the writer.
func (s *Shop) Waiting() int {
	s.line.mu.Lock()
	defer s.line.mu.Unlock()
	return len(s.line.waiting)
}
