SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help

# What follows the release in `relevel version` (cmd/relevel/version.go): nothing in
# the tree that is tagged with it, otherwise the commit.
RELEASE := $(shell sed -n 's/^const release = "\(.*\)"/\1/p' cmd/relevel/version.go)
BUILD := $(shell git -c safe.directory='*' describe --tags --always --dirty=.changed --exclude='*' 2>/dev/null || echo unstamped)
TAGGED := $(shell git -c safe.directory='*' describe --tags --exact-match --match='v$(RELEASE)' --dirty=.changed 2>/dev/null)
STAMP := $(if $(filter v$(RELEASE),$(TAGGED)),,$(BUILD))
VERSION := $(RELEASE)$(if $(STAMP),+$(STAMP))

# The version is stamped above; the go command's own stamp would fail in a
# checkout that belongs to another user.
export GOFLAGS := $(strip $(GOFLAGS) -buildvcs=false)

# The toolchain that go.mod names, also where the go command is told to keep to its own:
# the standard library of an older one has known faults.
export GOTOOLCHAIN ?= auto

# Bugs (SA), code that can be plainer (S1) or is unused (U1000), and the form
# of package comments, errors, receivers, imports and doc comments (ST…).
CHECKS := SA*,S1*,U1000,ST1000,ST1005,ST1012,ST1016,ST1019,ST1020,ST1021,ST1022

# The packages that also run in a browser.
PURE := ./levelling/... ./events ./events/proof ./jobs ./jobs/bundle

# What runs in a browser or under node: the race detector sees nothing of it, and
# `make test` runs it.
ELSEWHERE := ^Test(.*InBrowser|FirmsInTwoBrowsers|PhoneUnderNode|PhoneBodies)$$

# Long tests that ask one thing after another, break a server in another process, or
# measure what a process takes, of which the detector makes several times as much: no two
# goroutines of them share anything that shorter tests do not.
LONG := ^Test(Audit|Faults|Failpoints|FolderKilled|MigrationKilled|Bombs|FirmsAreApart|RandomRequestsOfTwoFirms|ALeakIsFound|Examples|ExportOfALongJob|.*OfEveryPage)$$

# The packages whose code is shared by several goroutines.
SHARED := ./events/... ./server/...

# What checks a bundle in a browser.
VERIFY := server/web/dist/verify

# What the phone's app is made of: its WebAssembly of Go, the rest of what npm
# bundles. A folder's own time tells of files that are gone.
PHONE := server/web/dist/phone
PHONE_GO := go.mod go.sum $(wildcard cmd/phonewasm/*.cjs) \
	$(shell find cmd/phonewasm cmd/verifywasm levelling events jobs server/drawing -name testdata -prune -o \( -type d -o -name '*.go' ! -name '*_test.go' \) -print)
PHONE_WEB := cmd/relevel/version.go $(addprefix server/web/,build.mjs package.json package-lock.json) $(shell find server/web/src)

.PHONY: help demo build phone test soak torture failpoints race check fmt vet lint wasm phonewasm verifywasm web types bits oracles bench bench-quick freeze rolling advisories fuzz sbom installed deb image drill pg17 pg17-short fleet crowd vitals append-profile scale cost

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z0-9-]+:.*## / { printf "  make %-14s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: ## play one whole job on this screen
	@.ci/need demo
	@$(MAKE) --no-print-directory build
	bin/relevel demo --play
	@echo
	@echo "To look at it in a browser: bin/relevel demo"

build: phone ## bin/relevel
	go build -trimpath -ldflags '-X main.build=$(STAMP)' -o bin/relevel ./cmd/relevel

sbom: ## what bin/relevel is made of, and all licences, written beside it
	@.ci/need build
	go run ./deploy/sbom --version '$(VERSION)' bin/relevel

phone: $(PHONE)/.built ## the phone's app and the office's scripts, which build puts into bin/relevel

# The mark comes last: what broke off half way is built again. A file whose name
# begins with a dot is not put into the program.
$(PHONE)/.built: $(PHONE)/relevel.wasm $(VERIFY)/verify.wasm $(PHONE_WEB)
	@.ci/need build
	npm run --prefix server/web --silent build
	@touch $@

test: phone ## every test; installs what they need
	@.ci/need test
	go test -timeout 25m ./...
	go -C deploy/check test -timeout 10m ./...

# The seeds of a soak: SEED is the first, SEEDS how many.
SEED ?= 1
SEEDS ?= 5000

soak: ## thousands of storms before a server, each with a seed: SEED=1 SEEDS=5000
	@.ci/need test
	SIMULATION_SEED=$(SEED) SIMULATION_SEEDS=$(SEEDS) SIMULATION_PROGRESS=100 \
	go test -v -count=1 -timeout 6h -run '^TestSimulation$$' ./server

# Each target for so long, one after the other. What is found lies in testdata/fuzz
# afterwards and is committed with its mending; tests try it ever after.
FUZZTIME ?= 30s

fuzz: ## made-up input for every decoder of what comes from outside: FUZZTIME=30s for each
	@grep -roE '^func Fuzz[A-Za-z]+' --include='*_test.go' cmd deploy events jobs levelling server | sort | \
	while IFS=: read -r file target; do \
		go test "./$${file%/*}" -run '^$$' -fuzz "^$${target#func }$$" -fuzztime $(FUZZTIME) </dev/null; \
	done

# What is each server's own, or shows on another a moment later: its limits and figures, the
# tokens it remembers, the queue of a server without a worker, the trail, what a device
# sent, rows of pages over many jobs. The rest is of one server by its nature.
OWN := ^Test(RateLimit|TokenRevoked|SlowBody|StreamsAreSentOn|StreamRefused|StreamsAreCounted|AppendIsCounted|UnsignedIsSeen|Invitation|OwnerAnswers|Device(Gaps|Heard.*)|FindingsOfTheFirm|Pack(AskedByMany|FailsAndIsAskedAgain))$$

fleet: phone ## the tests of the server with three behind a balancer instead of one
	@.ci/need test
	RELEVEL_TEST_FLEET=3 go test -count=1 -timeout 40m -skip 'InBrowser|InTwoBrowsers|^TestFleet|^TestSimulation$$|$(LONG)|$(OWN)' ./server

# How long the crowd goes on.
CROWD ?= 2m

crowd: ## three servers, 1000 who listen, 200 appends a second: CROWD=2m
	@.ci/need test
	ulimit -n 8192; CROWD_LASTS=$(CROWD) go test -tags crowd -count=1 -v -timeout 15m -run '^TestCrowd$$' ./cmd/relevel

# How long a torture takes.
MINUTES ?= 20

torture: ## everything behind a server broken by chance, and the damage counted: MINUTES=20 SEED=1
	@.ci/need demo
	TORTURE_MINUTES=$(MINUTES) TORTURE_SEED=$(SEED) \
	go test -tags torture -v -count=1 -timeout 24h -run '^TestTorture$$' ./server/torture

failpoints: ## a server, a migration and a folder killed at every operation, an hour or two
	@.ci/need demo
	go test -tags torture -v -count=1 -timeout 3h -run '^TestEveryFailpoint$$' ./server/torture

race: phone ## the tests of shared state under the race detector
	@.ci/need race
	go test -race -timeout 15m -skip '$(ELSEWHERE)|$(LONG)' $(SHARED)

check: fmt vet lint advisories wasm build web types bits race pg17-short test ## all of it, as .ci/run does

fmt: ## Go files that gofmt would change
	@list=$$(gofmt -l cmd deploy events jobs levelling server); \
	[ -z "$$list" ] || { echo "gofmt would change:"; echo "$$list"; exit 1; }

vet: ## go vet
	go vet ./...
	go vet -tags drill ./deploy/backups
	go vet -tags bench ./server/bench ./levelling/bench
	go vet -tags crowd ./cmd/relevel
	go vet -tags torture ./server/torture
	go vet -tags oracle ./levelling/... ./jobs/...
	go vet -tags rolling ./cmd/relevel
	go -C deploy/check vet -tags installed ./...

lint: ## staticcheck, and the rules of the tree
	.ci/tree
	go tool staticcheck -checks '$(CHECKS)' ./...
	staticcheck=$$(go tool -n staticcheck) && cd deploy/check && "$$staticcheck" -tags installed -checks '$(CHECKS)' ./...

advisories: ## published faults of what the program is made of; NEWEST=1 asks the newest database
	@.ci/need web
	@.ci/advisories $(if $(NEWEST),newest)

wasm: ## build for the browser what also runs there
	GOOS=js GOARCH=wasm go build $(PURE) ./cmd/phonewasm/... ./cmd/verifywasm/...
	GOOS=js GOARCH=wasm go vet ./cmd/phonewasm/... ./cmd/verifywasm/...

phonewasm: $(PHONE)/relevel.wasm ## the phone's arithmetic, with its size

# Without inlining it is a tenth less to download, and a reading still takes about
# a millisecond.
$(PHONE)/relevel.wasm: $(PHONE_GO)
	@.ci/need web
	@mkdir -p $(PHONE)
	GOOS=js GOARCH=wasm go build -trimpath -gcflags=all=-l -ldflags='-s -w' -o $@ ./cmd/phonewasm
	@install -m 644 "$$(go env GOROOT)/lib/wasm/wasm_exec.js" $(PHONE)/
	@node cmd/phonewasm/pack.cjs $@
	@touch $@

verifywasm: $(VERIFY)/verify.wasm ## what checks a bundle in a browser, with its size

$(VERIFY)/verify.wasm: $(PHONE_GO)
	@.ci/need web
	@mkdir -p $(VERIFY)
	GOOS=js GOARCH=wasm go build -trimpath -gcflags=all=-l -ldflags='-s -w' -o $@ ./cmd/verifywasm
	@install -m 644 "$$(go env GOROOT)/lib/wasm/wasm_exec.js" $(VERIFY)/
	@node cmd/phonewasm/pack.cjs $@
	@touch $@

web: ## the syntax of the pages' scripts
	@.ci/need web
	@shopt -s nullglob; scripts=(server/web/static/*.js); \
	for script in "$${scripts[@]}"; do node --check "$$script"; done; \
	echo "$${#scripts[@]} scripts parsed"

types: ## the types of the phone's app and of the office's scripts
	@.ci/need build
	npm run --prefix server/web --silent types

# What runs on the phone reckons as the server does: natively, under WebAssembly,
# and on arm64, which would fuse a product with the sum it goes into.
BITS := go test -count=1 -run '^TestBits$$' ./levelling ./levelling/beam ./levelling/underfloor ./jobs

bits: ## the same bits natively, under WebAssembly and on arm64
	@.ci/need bits
	$(BITS)
	GOOS=js GOARCH=wasm $(BITS) -exec "$$(go env GOROOT)/lib/wasm/go_js_wasm_exec"
	GOARCH=arm64 CGO_ENABLED=0 $(BITS) -exec qemu-aarch64
	@fused=$$(GOARCH=arm64 go build -gcflags=-S $(PURE) 2>&1 | grep -E 'FN?M(ADD|SUB)[SD]' || true); \
	[ -z "$$fused" ] || { echo "a product is fused with a sum: write float64(x*y)"; echo "$$fused"; exit 1; }

# Builds of the image, the package, versitygw and Caddy: minutes, the first time.
installed: build sbom ## install it without Docker, as the compose file and the package do, and use it
	@.ci/need installed
	go -C deploy/check test -tags installed -count=1 -timeout 40m -v .

deb: ## a Debian package in bin, of a static program
	CGO_ENABLED=0 $(MAKE) --no-print-directory build sbom
	deploy/debian/build bin/relevel '$(VERSION)' bin

image: ## the image of docker-compose.yml, by Docker
	docker build -f deploy/Dockerfile --build-arg BUILD='$(STAMP)' -t relevel:local .

oracles: ## the answers of other programs that tests compare with, reckoned anew
	@.ci/need oracles
	go test -tags oracle -count=1 -run '^TestOracle' ./levelling/... ./jobs/...

# What TestReleased… of these packages hold to what it was when it was released.
FROZEN := ./events ./events/pgdb ./events/proof ./jobs ./jobs/bundle ./server

freeze: ## before a release is tagged: the lists of what it keeps for ever
	@! git -c safe.directory='*' rev-parse -q --verify 'refs/tags/v$(RELEASE)' >/dev/null || \
	{ echo "$(RELEASE) is out and stays as it is: raise the release in cmd/relevel/version.go"; exit 1; }
	go test -count=1 $(FROZEN) -run '^TestReleased' -freeze $(RELEASE)

rolling: ## the program of each earlier stage works on while its database is migrated
	@.ci/need test
	.ci/rolling
	go test -tags rolling -count=1 -timeout 30m -run '^TestRolling$$' -v ./cmd/relevel | grep -v -e '^===' -e '^ *---'

# How many MB of records, and of photos, the drill has.
DRILL_MB ?= 512

drill: ## backs up and restores DRILL_MB=512 of records and of photos, and prints the time per GB
	@.ci/need demo
	DRILL_MB=$(DRILL_MB) go test -tags drill -count=1 -timeout 60m -run '^Test(TimePerGB|Drill)$$' -v ./deploy/backups | grep -v '^==='

# What rests on the database, on the version that containers have. The tests of
# commands start the program as others do, and end it badly.
PG17 := ./events/pgdb/... ./events/pglog ./events/pgproof ./jobs/pgjobs ./server/tasks/... ./cmd/relevel ./cmd/relevel/doctor

pg17: ## the tests of what rests on the database, on Postgres 17
	@.ci/need test
	@.ci/need pg17
	.ci/pg17 -timeout 20m $(PG17)

pg17-short: ## the suites of the stores, the guards and the upgrades there, in under a minute
	@.ci/need test
	@.ci/need pg17
	.ci/pg17 -timeout 10m -run '^Test(Log|Ledger|Restores|Store|Queue|EventsAreUnchanged|TriggersAreAlwaysOn|RowSecurity|Grants|FromNothing|Upgrades)$$' \
	./events/pgdb ./events/pglog ./events/pgproof ./jobs/pgjobs ./server/tasks/pgtasks ./cmd/relevel

# One package after the other: they would share the processors.
bench: phonewasm ## throughput and latency beside the bare drivers, arithmetic beside other programs
	@.ci/need demo
	@.ci/need oracles
	@mkdir -p bench-results
	@go test -tags bench -p 1 -count=1 -timeout 30m -run '^TestCompare' -v ./server/bench ./levelling/bench | \
	grep -v -e '^===' -e '^---' | tee "bench-results/$$(date -u +%Y%m%dT%H%M%SZ)"

bench-quick: ## the few ratios that matter, a name and a ratio a line, in under 45 s
	@.ci/need demo
	@go test -tags bench -count=1 -timeout 5m -run '^TestBrief' -v ./server/bench | grep -v -e '^===' -e '^---' -e '^ok' -e '^PASS'

vitals: phone ## how pages feel on a slow phone, in a browser, and what they carry
	@.ci/need test
	@go test -tags bench -count=1 -timeout 15m -run '^TestVitals$$' -v ./server/bench | grep '^page-'

append-profile: ## where an append's time goes: statements, journal, memory, locks; 90 s
	@.ci/need demo
	@go test -tags bench -count=1 -timeout 10m -run '^TestAppendProfile$$' -v ./server/bench | grep -v -e '^===' -e '^---'

# How large the set of firms becomes at most; SCALE_GB bounds the disk that all of it takes.
FIRMS ?= 1000
JOBS ?= 30000
EVENTS ?= 5000000

scale: ## an invented set of firms, measured as it grows: FIRMS=1000 JOBS=30000 EVENTS=5000000 SCALE_GB=25
	@.ci/need demo
	@FIRMS=$(FIRMS) JOBS=$(JOBS) EVENTS=$(EVENTS) go test -tags bench -count=1 -timeout 6h -run '^Test(History|Scale)$$' -v ./server/bench | grep -v -e '^===' -e '^ *---'

cost: ## what an event, a photo and a page cost in a firm of 500 jobs, and what two processors carry; 3 min
	@.ci/need demo
	@go test -tags bench -count=1 -timeout 20m -run '^TestCost$$' -v ./server/bench | grep -v -e '^===' -e '^---'
