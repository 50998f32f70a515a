package memory_test

import (
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/memory"
	"tenths/internal/store/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) store.Store { return memory.New() })
}
