# The two commands: `make cook` and `make test`.
SHELL := /bin/bash
export PATH := $(HOME)/.cargo/bin:$(PATH)

.PHONY: cook test bench bench-doneness setup-cook setup-test

cook: setup-cook
	cargo build --release --locked
	@scripts/demo-cook.sh

setup-cook:
	@scripts/setup.sh cook

setup-test:
	@scripts/setup.sh test

test: setup-test
	cargo fmt --check
	cargo clippy --locked --all-targets
	cargo test --locked

bench: setup-test
	cargo build --release --locked
	cargo run --release --locked --example bench

bench-doneness:
	cargo run --release --locked --example bench_doneness
