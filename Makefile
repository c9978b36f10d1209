# Everyday commands. "make test" is all that CI runs.

.PHONY: help test lint fmt cover bench torture demo screens

help: ## list the commands
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "make %-8s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

test: ## run every check and test on both databases, installing or naming what is missing
	@scripts/test.sh

lint: ## vet, and golangci-lint when it is installed
	go vet ./...
	@if command -v golangci-lint >/dev/null; then golangci-lint run; \
	else echo "golangci-lint is not installed; make test runs staticcheck"; fi

fmt: ## format all Go files
	gofmt -w .

cover: ## show which statements of domain its tests reach, as a page
	go test -coverpkg=./domain/... -coverprofile=coverage.out ./domain/...
	mkdir -p .cache && go tool cover -html=coverage.out -o .cache/coverage.html
	@echo "open .cache/coverage.html"

bench: ## run the benchmarks on both databases
	scripts/with-postgres.sh go test -run '^$$' -bench . -benchmem ./...

torture: ## kill programs 200 times on each database, restart it, fill disks (as root, some minutes)
	WINTERBENCH_TEST_DURABLE=1 WINTERBENCH_TORTURE_ROUNDS=$${ROUNDS:-200} scripts/with-postgres.sh \
		go test ./cmd/winterbench -run Torture -count=1 -timeout 60m -v
	WINTERBENCH_LONG=1 scripts/with-postgres.sh \
		go test ./web ./domain/workshop -run 'BadRequests|EachHat|Guess' -count=1 -timeout 30m -v

demo: ## open an invented shop in the browser's reach
	go run ./cmd/winterbench serve --demo

screens: ## write a picture of every page into screens/: desktop, phone, dark, print
	cd browser && npm ci --no-audit --no-fund --loglevel=error
	go build -o .cache/winterbench ./cmd/winterbench
	node browser/screens.mjs .cache/winterbench screens
