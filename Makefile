# One file to do everything; CONTRIBUTING.md says when to use which.

export CGO_ENABLED = 0
export GOFLAGS     = -trimpath

GO      = go
DEMO    = engine

.PHONY: build demo need browser test check generate bench torture vuln clean

build:
	$(GO) build -o tenths ./cmd/tenths

# The invented engine in the middle of its overhaul: its files and verdicts, then
# the pages, at the address that is printed. Ctrl-C ends it.
demo: build
	./tenths demo $(DEMO)
	./tenths demo $(DEMO) --serve

# Everything, from a fresh machine: Go fetches the modules that are missing, and
# Debian's packages are installed where they are and we may. The tag takes in the
# pages in a real browser; go test ./... without it leaves them out.
test: need
	$(GO) mod download
	$(GO) test -tags browser $(GO_TEST_FLAGS) ./...

# What a reviewer would otherwise have to look for.
check:
	@fmt="$$($(GO) tool gofumpt -l .)"; test -z "$$fmt" || { echo "gofumpt -w these: $$fmt"; exit 1; }
	$(GO) mod tidy -diff
	$(GO) vet ./...
	$(GO) vet -tags browser ./internal/web
	$(GO) tool staticcheck -tags browser ./...
	$(GO) test -count=1 ./internal/rooms
	$(GO) test -count=1 -run 'Generated|Golden' ./...
	$(MAKE) --no-print-directory fuzz TIME=4s

# Rewrites what is made from the code: tables in docs, golden files. Read the diff.
generate:
	UPDATE=1 $(GO) test -count=1 -run 'Generated|Golden' ./...

# Every fuzz target for TIME each. Where the time ends while a worker is busy, Go's
# fuzzer may fail without an input that failed: then it is run once more.
.PHONY: fuzz
fuzz: TIME ?= 10s
fuzz:
	@set -e; for pkg in $$($(GO) list ./...); do \
	  for target in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
	    echo "$$pkg $$target"; \
	    run() { $(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(TIME) -fuzzminimizetime 10x $$pkg; }; \
	    out="$$(run 2>&1)" && echo "$$out" && continue; echo "$$out"; \
	    case "$$out" in *"Failing input"*) exit 1 ;; *"context deadline exceeded"*) ;; *) exit 1 ;; esac; \
	    echo "the fuzzer's own clock ran out, and it found nothing: once more"; run; \
	  done; \
	done

# What tests run beside Go: another language, that knows nothing of the project;
# of the pages, a real browser, and npm, which fetches axe-core once. A command,
# and its package of Debian's behind a colon where that has another name.
need: NEEDS ?= node:nodejs chromium npm
need:
	@missing=""; for c in $(NEEDS); do [ -n "$$(command -v $${c%:*})" ] || missing="$$missing $$c"; done; \
	packages=""; for c in $$missing; do packages="$$packages $${c#*:}"; done; \
	if [ -n "$$missing" ] && [ "$$(id -u)" = 0 ] && [ -n "$$(command -v apt-get)" ]; then \
	  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends $$packages >/dev/null; \
	fi; \
	for c in $$missing; do [ -n "$$(command -v $${c%:*})" ] || { echo "make test needs $${c%:*}: install it (Debian: apt-get install $${c#*:})" >&2; exit 2; }; done

# The pages alone, in a real browser: some minutes. TEST= names one of the tests.
browser: need
	$(GO) test -count=1 -tags browser -timeout 10m -run '$(TEST)' ./internal/web

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...
	bench/fits/run.sh
	bench/process.sh
	bench/record/run.sh
	bench/pages/run.sh
	bench/import/run.sh

# Outside CI's time: long fuzzing, and the faults that the record survives in
# their long form.
torture: NEEDS = node:nodejs
torture: need
	TENTHS_TORTURE=1 $(GO) test -count=1 -timeout 3h -v ./internal/store/... ./internal/shop/...
	$(MAKE) --no-print-directory fuzz TIME=10m

# Needs the network: known holes in the modules used.
vuln:
	$(GO) tool govulncheck ./...

clean:
	rm -rf tenths $(DEMO)
