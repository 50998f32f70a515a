package job

import "fmt"

// Inside is what a state has for deciding, as text: a request that is refused
// leaves that as it was, too.
func (s *State) Inside() string { return fmt.Sprintf("%v", *s.find) }
