# The two commands: `make cook` and `make test`.
SHELL := /bin/bash
export PATH := $(HOME)/.cargo/bin:$(PATH)

.PHONY: cook test bench bench-schedule bench-board bench-doneness fuzz setup-cook setup-test bench-ear bench-session-noise bench-cut-in test-system-voice

cook: setup-cook
	cargo build --release --locked
	@scripts/demo-cook.sh

setup-cook:
	@scripts/setup.sh cook

setup-test:
	@scripts/setup.sh test

test: setup-test
	cargo fmt --check
	cargo clippy --locked --all-targets -- -D warnings
	cargo test --locked

# The system's own voice, which most builds leave out: wants libspeechd-dev and libclang-dev to build,
# speech-dispatcher and its espeak-ng module to run.
test-system-voice: setup-test
	cargo clippy --locked --all-targets --features system-voice -- -D warnings
	cargo test --locked --features system-voice --test sound system

# The schedule's solver on project scheduling instances with known optima; they are not
# kept here: make bench-schedule PSPLIB=folder-with-the-sm-files [OPTIMA=table.csv]
bench-schedule:
	@test -n "$(PSPLIB)" || { echo "write: make bench-schedule PSPLIB=folder-with-the-sm-files [OPTIMA=table.csv]"; exit 2; }
	cargo run --release --locked --example bench_schedule -- $(PSPLIB) $(or $(OPTIMA),$(PSPLIB)/optimum/optimum.csv) $(or $(NODES),20000)

bench: setup-test
	cargo build --release --locked
	cargo run --release --locked --example bench

# The set is spoken once and kept in target/bench-ear. QUICK=--quick looks at a part of it.
bench-ear:
	@scripts/setup.sh bench
	cargo build --release --locked --example bench_ear
	[ -f target/bench-ear/list.tsv ] || target/release/examples/bench_ear make target/bench-ear
	target/release/examples/bench_ear run target/bench-ear $(QUICK)
	target/release/examples/bench_ear run target/bench-ear --engine pocketsphinx $(QUICK)

# Five minutes of a cook in noise: how many of fifteen calls are right. SNR=6 for a louder room.
bench-session-noise:
	@scripts/setup.sh bench
	cargo build --release --locked --bins --example bench_ear
	target/release/examples/bench_ear session --snr $(or $(SNR),12)

# Calls over the tool's own voice, which comes back into its microphone.
bench-cut-in:
	@scripts/setup.sh bench
	cargo run --release --locked --example bench_ear cut-in

bench-doneness:
	cargo run --release --locked --example bench_doneness

# Fuzzing on the stable compiler: without a sanitizer (-s none), which needs a nightly one.
# SECONDS_EACH=600 make fuzz   looks longer.
SECONDS_EACH ?= 60
fuzz: setup-cook
	command -v cargo-fuzz >/dev/null || cargo install cargo-fuzz --version 0.13.2 --locked
	mkdir -p fuzz/corpus/plan fuzz/corpus/grammar
	cargo fuzz run -s none plan fuzz/corpus/plan plans -- -max_total_time=$(SECONDS_EACH)
	cargo fuzz run -s none grammar fuzz/corpus/grammar grammars -- -max_total_time=$(SECONDS_EACH) -timeout=20
	cargo fuzz run -s none numbers -- -max_total_time=$(SECONDS_EACH) -max_len=200
	cargo fuzz run -s none journal -- -max_total_time=$(SECONDS_EACH) -max_len=4000

bench-board: setup-test
	cargo build --release --locked
	cargo run --release --locked --example bench_board
