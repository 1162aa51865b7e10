.PHONY: demo build test check recompute bench-marker bench-lay

# The demo: installs what is missing (Debian), builds, loads, plans, prices, writes out/, serves.
# Elsewhere than at port 8137: make demo ADDR=127.0.0.1:9000.
demo:
	@.ci/check demo-tools
	@$(MAKE) --no-print-directory build
	@bin/yardwright demo --out out $(if $(ADDR),--addr $(ADDR))

build:
	@echo "Building bin/yardwright; the first time takes about a minute."
	@go build -o bin/yardwright ./cmd/yardwright

# Every test; installs what the tests need (Debian).
test:
	@.ci/check test

# Everything that must be green before a change goes in: format, vet, lint, race, fuzz, tests.
check:
	@.ci/check all

# Has LibreOffice and gnumeric recompute the workbooks of 200 made-up workshops, as they are and
# after changes in the files; the tests do the same with a few. Takes about eight minutes on two cores.
recompute:
	@.ci/check test-tools
	@go test ./exports -run TestWorkbooksRecomputed -count=1 -v -timeout 2h -workshops 200

# Measures laying on the published instances and cutting jobs, beside general-purpose packers run
# by Node, and writes testdata/marker/RESULTS.md: about half an hour on a quiet machine. A short
# run: make bench-marker BENCH="-seconds 0.2 -most 2 -jobs 2".
bench-marker:
	@npm ci --prefix testdata/marker/peers --ignore-scripts --no-audit --no-fund --silent
	@go run ./testdata/marker/bench $(BENCH)

# Plans generated batches, the demo batch and the published orders, and writes
# testdata/lay/RESULTS.md; takes about five minutes.
bench-lay:
	@go run ./testdata/lay/bench testdata
