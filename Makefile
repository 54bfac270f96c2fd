# Evenpeel. `make run` starts it, `make test` proves it; `make help` lists the rest.
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help

DEMO ?= 1
DATA ?= ./data
VERSION ?= $(shell git describe --always --dirty 2>/dev/null || echo unreleased)
NPM := npm --prefix web
export PATH := $(CURDIR)/web/node_modules/.bin:$(PATH)

.PHONY: help
help: ## List what can be made
	@grep -hE '^[a-z0-9-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

.PHONY: run
run: page ## Build the page and start the server with the demo franchise (DEMO=0 starts empty)
	go run -ldflags "-X main.version=$(VERSION)" ./server --data $(DATA) $(if $(filter 0,$(DEMO)),,--demo)

web/node_modules: web/package-lock.json
	$(NPM) ci --ignore-scripts --no-audit --no-fund
	@touch $@

.PHONY: page
page: web/node_modules ## Build the page into web/dist
	$(NPM) run build

.PHONY: build
build: page ## Build one binary with the page inside, in bin/
	CGO_ENABLED=0 go build -tags page -trimpath -ldflags "-s -w -X main.version=$(VERSION)" -o bin/evenpeel ./server

# validate.proto comes out of the Go module of the same version; its bytes are pinned here, since no go.sum line is.
VALIDATE := .deps/protovalidate/buf/validate/validate.proto
VALIDATE_SHA := a1dc1163ebac930b3b070655b91f2bc78df8b4aea940021661fe5ec7904a7b88
.PHONY: deps
deps: $(VALIDATE)
$(VALIDATE):
	@mkdir -p .deps/protovalidate
	@dir=$$(go mod download -json github.com/bufbuild/protovalidate@v1.2.2 | sed -n 's/.*"Dir": "\(.*\)",/\1/p'); \
	cp -r "$$dir/proto/protovalidate/buf" .deps/protovalidate/; chmod -R u+w .deps
	@echo "$(VALIDATE_SHA)  $@" | sha256sum --check --quiet

.PHONY: gen
gen: deps web/node_modules ## Generate Go and TypeScript from proto/ (committed beside it)
	buf generate --template proto/buf.gen.yaml

.PHONY: tools
tools: ## Install what the tests need from Debian, where it is missing
	@missing=(); \
	command -v chromium >/dev/null || missing+=(chromium); \
	command -v curl >/dev/null || missing+=(curl); \
	command -v redis-server >/dev/null || missing+=(redis-server); \
	ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || command -v initdb >/dev/null || missing+=(postgresql); \
	if [ $${#missing[@]} -gt 0 ]; then \
	  echo "Installing from Debian: $${missing[*]}"; \
	  $(if $(filter 0,$(shell id -u)),,sudo) apt-get update -q >/dev/null; \
	  $(if $(filter 0,$(shell id -u)),,sudo) env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$${missing[@]}" >/dev/null; \
	fi

.PHONY: test
test: tools proto-test go-test web-test e2e chart-test word-test ## Everything: what CI runs

.PHONY: proto-test
proto-test: deps web/node_modules ## Lint, format, breaking changes and drift of the wire
	buf lint
	buf format --diff --exit-code proto
	@base=$${BASE:-$$(git rev-parse --verify --quiet HEAD~1 || true)}; \
	if [ -n "$$base" ] && git cat-file -e "$$base:buf.yaml" 2>/dev/null; then \
	  echo "buf breaking against $$base"; \
	  rm -rf .base; mkdir .base; git archive "$$base" proto buf.yaml | tar -x -C .base; cp -r .deps .base/; \
	  buf breaking --against .base; rm -rf .base; \
	else echo "buf breaking: there is nothing landed to compare with yet"; fi
	@rm -rf .fresh; mkdir -p .fresh/proto .fresh/web/src/proto
	@buf generate --template proto/buf.gen.yaml --output .fresh
	@for f in $$(cd .fresh && find . -name '*.go' -o -name '*.ts'); do \
	  cmp -s ".fresh/$$f" "$$f" || { echo "$$f is not what proto/ generates; run make gen and commit it"; exit 1; }; done
	@for f in $$(find proto -name '*.pb.go') $$(find web/src/proto -name '*.ts'); do \
	  [ -e ".fresh/$$f" ] || { echo "$$f comes from no proto file any more; delete it"; exit 1; }; done
	@rm -rf .fresh; echo "generated code is fresh"

.PHONY: go-test
go-test: ## Go: format, vet, and every test with the race detector
	@test -z "$$(gofmt -l proto server branches recipes web/*.go)" || { gofmt -l proto server branches recipes web/*.go; echo "run gofmt -w on these"; exit 1; }
	go vet ./...
	go test -race ./...

.PHONY: web-test
web-test: web/node_modules page ## The page: types, lint, walls, unit tests, size budgets
	$(NPM) run check
	$(NPM) test
	$(NPM) run size

.PHONY: e2e
e2e: page ## Journeys of the four people in Chromium, with axe, against the real server
	go build -o bin/evenpeel ./server
	deploy/e2e.sh

HELM := .deps/helm-v3.22.0
$(HELM):
	@mkdir -p .deps; GOBIN=$(CURDIR)/.deps go install helm.sh/helm/v3/cmd/helm@v3.22.0 && mv .deps/helm $@
.PHONY: chart-test
chart-test: $(HELM) ## Lint and render the Kubernetes chart
	deploy/chart.sh $(CURDIR)/$(HELM)

.PHONY: word-test
word-test: ## Words that this project does not use
	@if [ -x ../shared/tools/wordcheck ]; then ../shared/tools/wordcheck .; else echo "wordcheck is not here; skipped"; fi

.PHONY: bench
bench: ## Benchmarks: sheet beside a plain echo, layout, card, quote, comparison
	go test -run '^$$' -bench . -benchtime 1s ./recipes/... ./branches/... ./server/...

.PHONY: load
load: ## Load: pulls, watches and a restart beside a bare service and etcd; the ledger at a million runs
	go build -o bin/evenpeel ./server
	bin/evenpeel load pull
	bin/evenpeel load watch
	bin/evenpeel load watch --own --streams 3000
	bin/evenpeel load storm
	bin/evenpeel load runs --runs 1000000 --store sqlite:$$(mktemp -d)/load.db

.PHONY: fuzz
fuzz: ## Each fuzz target for a minute
	@for p in $$(go list ./recipes/... ./branches/... ./server/...); do \
	  for f in $$(go test -list '^Fuzz' $$p | grep '^Fuzz' || true); do echo "$$p $$f"; go test -run '^$$' -fuzz "^$$f$$" -fuzztime 60s -fuzzminimizetime 1x $$p; done; done

.PHONY: clean
clean: ## Remove what was built; data stays
	rm -rf bin web/dist .base .fresh shots
