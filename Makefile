# The two commands: `make cook` and `make test`.
SHELL := /bin/bash
export PATH := $(HOME)/.cargo/bin:$(PATH)

.PHONY: cook test setup-cook setup-test fmt clippy

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
