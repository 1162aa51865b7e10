.PHONY: demo build test check bench-lay

# The demo: installs what is missing (Debian), builds, loads, plans, prices, writes out/, serves.
demo:
	@.ci/check demo-tools
	@$(MAKE) --no-print-directory build
	@bin/yardwright demo --out out

build:
	@go build -o bin/yardwright ./cmd/yardwright

# Every test; installs what the tests need (Debian).
test:
	@.ci/check test

# Everything that must be green before a change goes in: format, vet, lint, race, fuzz, tests.
check:
	@.ci/check all

# Plans generated batches, the demo batch and the published orders, and writes
# testdata/lay/RESULTS.md; takes about five minutes.
bench-lay:
	@go run ./testdata/lay/bench testdata
