# Every recipe sets itself up: all it needs is python3 with pip, and make.
# uv reads the pinned versions from pyproject.toml (written by `make pins`).
UV_VERSION := 0.13.9
UV := .uv/bin/uv
RUN := $(UV) run --all-extras

.DEFAULT_GOAL := help
.PHONY: help demo serve test system soak bench lint docs commands pictures screens pins

help: ## show this list
	@sed -n 's/^\([a-z]*\):.*## /  make \1\t/p' Makefile | expand -t 16

demo: $(UV) ## play the demonstration in the terminal, then serve the demo shop
	@$(RUN) --no-dev tubside demo

serve: $(UV) ## serve the pages on this machine
	@$(RUN) --no-dev tubside serve

test: $(UV) ## run every test but the long ones
	@OPENBLAS_NUM_THREADS=1 $(RUN) pytest -n 2 --dist loadfile

system: ## install Debian's packages for all tests (needs root)
	@test "$$(id -u)" = 0 || { echo "make system: only root can install packages; run it as root"; exit 1; }
	apt-get update
	DEBIAN_FRONTEND=noninteractive apt-get install --yes --no-install-recommends \
		chromium postgresql libgomp1

soak: $(UV) ## run the long tests
	@$(RUN) pytest -m soak

bench: $(UV) ## measure speed and quality
	@$(RUN) python benchmarks/run.py

lint: $(UV) ## check style and types
	@$(RUN) ruff check
	@$(RUN) ruff format --check
	@$(RUN) mypy

docs: $(UV) ## build the pages in docs/_build
	@$(RUN) --group docs sphinx-build -W --keep-going --quiet docs docs/_build
	@echo "open docs/_build/index.html"

commands: $(UV) ## write the pages of commands and parameters from the program
	@$(RUN) python tools/command_page.py
	@$(RUN) python tools/parameter_page.py

pictures: $(UV) ## draw the pictures and outputs of the pages
	@$(RUN) python docs/make_pictures.py

screens: $(UV) ## take the pictures of the pages (needs chromium)
	@$(RUN) python docs/make_screens.py

pins: $(UV) ## renew the pinned versions
	$(UV) --no-config pip compile --quiet --universal --upgrade --no-header --no-annotate \
		--all-extras --group dev --group docs --output-file constraints.txt pyproject.toml
	python3 tools/pins.py

$(UV):
	python3 -m pip install --quiet --disable-pip-version-check --root-user-action ignore --target .uv uv==$(UV_VERSION)
