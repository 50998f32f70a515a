# One file to do everything; CONTRIBUTING.md says when to use which.

export CGO_ENABLED = 0
export GOFLAGS     = -trimpath

GO      = go
DEMO    = engine

.PHONY: build demo test check generate bench torture vuln clean

build:
	$(GO) build -o tenths ./cmd/tenths

# The main job on the invented engine: files and verdicts.
demo: build
	./tenths demo $(DEMO)

# Everything, from a fresh machine: Go fetches the modules that are missing.
test:
	$(GO) mod download
	$(GO) test $(GO_TEST_FLAGS) ./...

# What a reviewer would otherwise have to look for.
check:
	@fmt="$$($(GO) tool gofumpt -l .)"; test -z "$$fmt" || { echo "gofumpt -w these: $$fmt"; exit 1; }
	$(GO) mod tidy -diff
	$(GO) vet ./...
	$(GO) tool staticcheck ./...
	$(GO) test -count=1 ./internal/rooms
	$(GO) test -count=1 -run 'Generated|Golden' ./...
	$(MAKE) --no-print-directory fuzz TIME=4s

# Rewrites what is made from the code: tables in docs, golden files. Read the diff.
generate:
	UPDATE=1 $(GO) test -count=1 -run 'Generated|Golden' ./...

# Every fuzz target for TIME each.
.PHONY: fuzz
fuzz: TIME ?= 10s
fuzz:
	@set -e; for pkg in $$($(GO) list ./...); do \
	  for target in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
	    echo "$$pkg $$target"; \
	    $(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(TIME) -fuzzminimizetime 10x $$pkg; \
	  done; \
	done

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...
	bench/fits/run.sh
	bench/process.sh

# Outside CI's time: long fuzzing.
torture:
	$(MAKE) --no-print-directory fuzz TIME=10m

# Needs the network: known holes in the modules used.
vuln:
	$(GO) tool govulncheck ./...

clean:
	rm -rf tenths $(DEMO)
