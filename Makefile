# soiljoule: `make` lists the targets.

GO      ?= go
FUZZ    ?= 60s
BIN     ?= soiljoule
BENCH   ?= .
COSTS   ?= ^Benchmark(Triad|Apply|Relaxation|Cycle|Iteration|Factor|Potential|Step|Run)$$

# The packages in which anything runs at the same time as anything else.
RACED   = ./solver/... ./physics ./cmd/soiljoule

FUZZED  ?= ./cases:FuzzParse ./cases:FuzzLocate ./cases:FuzzUnits ./cases:FuzzSeries ./cmd/soiljoule:FuzzRun

# The tests hand their numbers on where SOILJOULE_DOSSIER is set; validation/dossier prints them.
CHECKS  = SOILJOULE_DOSSIER=1 $(GO) test -count=1 -tags validate -json -timeout 60m ./validation/...
FUZZING = for t in $(FUZZED); do $(GO) test $(1) -run '^$$' -fuzz "^$${t\#\#*:}$$" -fuzztime $(FUZZ) -fuzzminimizetime 0x "$${t%%:*}" || exit 1; done

.PHONY: help build check test race validate dossier fuzz bench cost golden figures

help:
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

build: ## the program, as ./soiljoule
	$(GO) build -o $(BIN) ./cmd/soiljoule

check: ## gofmt, go vet, staticcheck (pinned in go.mod)
	@bad=$$(gofmt -l .); if [ -n "$$bad" ]; then echo "gofmt would change:"; echo "$$bad"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...

# The longest first, so that the others fill what is left.
test: ## the tests, under three minutes on two cores
	$(GO) test ./validation ./cmd/soiljoule ./solver ./cmd/internal/figure ./...

# What shares no work among processors has no race to find, and takes ten times as long
# to say so; TestRaceHasAllThatRunsAtOnce holds the list.
race: ## the tests of what runs at once under the race detector, the long ones left out
	$(GO) test -race -short -timeout 30m $(RACED)

validate: ## the longer checks against published results, printed and compared with the dossier
	$(CHECKS) | $(GO) run ./validation/dossier -against validation/dossier.md
	$(GO) test -count=1 -tags validate -run 'Extremes|CoresDoNotMatter|DrawTwice|PlanMetal|Readme|UseEveryKey' ./cmd/...
	$(GO) test -count=1 -tags validate -timeout 30m -run 'Drawn' ./cases ./solver

dossier: ## validation/dossier.md anew, from the tests' own numbers and a fuzz of each target
	{ $(CHECKS); $(call FUZZING,-json); } | $(GO) run ./validation/dossier -o validation/dossier.md

fuzz: ## each fuzz target for FUZZ (60s)
	$(call FUZZING)

bench: ## benchmarks but the longest, ten counts, for benchstat
	$(GO) test -short -run '^$$' -bench '$(BENCH)' -benchtime 0.1s -count 10 -timeout 60m ./...
	$(GO) test -run '^$$' -bench 'FourPlates|PeakMemory' -benchtime 1x -count 1 -timeout 60m ./validation

cost: ## validation/cost.md and its figure anew, from benchmarks up to 10⁶ cells; NOTE: how the times were taken
	$(GO) test -run '^$$' -bench '$(COSTS)' -benchtime 0.3s -count 2 -timeout 60m ./solver/... ./validation | $(GO) run ./validation/cost -o validation/cost.md -note '$(NOTE)'

golden: ## rewrite the golden figures: then look at each
	$(GO) test ./cmd/internal/figure -update

figures: build ## run the demo cases and draw their figures into out/
	for c in cases/*.toml; do ./$(BIN) run $$c -o out/$$(basename $$c .toml) --force || exit 1; done
	./$(BIN) run cases/electrode-cell.toml -o out/electrode-cell-dry --force --set layer.silt.inflow=none
