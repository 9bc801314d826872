# soiljoule: `make` lists the targets.

GO      ?= go
FUZZ    ?= 60s
BIN     ?= soiljoule
BENCH   ?= .

.PHONY: help build check test race validate fuzz bench golden figures

help:
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

build: ## the program, as ./soiljoule
	$(GO) build -o $(BIN) ./cmd/soiljoule

check: ## gofmt, go vet, staticcheck (pinned in go.mod)
	@bad=$$(gofmt -l .); if [ -n "$$bad" ]; then echo "gofmt would change:"; echo "$$bad"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...

test: ## the tests, under three minutes on two cores
	$(GO) test ./...

race: ## the tests under the race detector, the long ones left out
	$(GO) test -race -short ./...

validate: ## the longer checks against published results, printed
	$(GO) test -count=1 -tags validate -v -timeout 60m ./validation/...

fuzz: ## each fuzz target for FUZZ (60s)
	$(GO) test -run '^$$' -fuzz FuzzParse -fuzztime $(FUZZ) ./cases
	$(GO) test -run '^$$' -fuzz FuzzLocate -fuzztime $(FUZZ) ./cases

bench: ## benchmarks, ten counts, for benchstat
	$(GO) test -run '^$$' -bench '$(BENCH)' -count 10 ./...

golden: ## rewrite the golden figures: then look at each
	$(GO) test ./cmd/internal/figure -update

figures: build ## run the demo cases and draw their figures into out/
	./$(BIN) run cases/paved-yard.toml -o out/paved-yard --force
	./$(BIN) run cases/electrode-cell.toml -o out/electrode-cell --force
	./$(BIN) run cases/electrode-cell.toml -o out/electrode-cell-dry --force --set layer.silt.inflow=none
