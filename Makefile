# make demo   set up, then see a recording become findings
# make test   set up, then everything the project must hold to
# make lock   choose the newest versions that fit and write them to requirements.lock
#
# All work happens in .venv/; delete it to start afresh. Another Python: make demo PYTHON=python3.12

PYTHON ?= python3
PIP := .venv/bin/python -m pip install --quiet --disable-pip-version-check
UV := uv==0.13.9

# A second run installs nothing: .venv holds copies of what it was made from. Its scripts hold absolute paths,
# so a moved checkout needs a new one.
MADE_FROM := { pwd; cat requirements.lock; }
HAS_VENV := $(PYTHON) -c "import ensurepip, venv" 2> /dev/null

.PHONY: demo test lock set-up python packages project programs

demo: set-up
	@.venv/bin/narrate demo

# pytest comes last, so that its summary is the last line. Two share the work, a file each,
# and what opens a browser comes last and together (tests/conftest.py).
test: set-up programs
	.venv/bin/ruff check
	.venv/bin/mypy
	.venv/bin/pytest --numprocesses 2 --dist loadgroup --no-loadscope-reorder

set-up:
	@$(MADE_FROM) | cmp -s - .venv/made-from && .venv/bin/python -c "" || $(MAKE) --no-print-directory packages
	@cmp -s pyproject.toml .venv/pyproject.toml || $(MAKE) --no-print-directory project

# Wheels only, each checked against the lock, which names all that the listed ones need.
packages: python
	@echo "Setting up .venv; this is needed once and takes a few minutes."
	@$(PYTHON) -m venv --clear .venv
	@$(PIP) --require-hashes --no-deps --only-binary :all: --requirement requirements.lock
	@$(MADE_FROM) > .venv/made-from

# narrate itself, built by the hatchling that the lock names.
project:
	@$(PIP) --no-deps --no-build-isolation --editable .
	@cp pyproject.toml .venv/pyproject.toml

# What the tests need beside Python: a browser to drive the page with, PostgreSQL to hold the store's tests on too,
# Pango for PDFs, poppler to look into them, and certutil to let the browser trust a shop's own certificates.
PROGRAMS := chromium postgresql libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 poppler-utils libnss3-tools
HAS_PROGRAMS := command -v chromium > /dev/null && command -v pdftotext > /dev/null && \
  command -v certutil > /dev/null && \
  ls /usr/lib/postgresql/*/bin/initdb > /dev/null 2>&1 && \
  $(PYTHON) -c "from ctypes.util import find_library as f; \
    raise SystemExit(not all(map(f, ('pangoft2-1.0', 'harfbuzz-subset'))))"

programs:
	@$(HAS_PROGRAMS) || { test "$$(id -u)" = 0 && command -v apt-get > /dev/null && apt-get update -qq && \
	  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $(PROGRAMS) > /dev/null && $(HAS_PROGRAMS); } || \
	  { echo >&2 "The tests need some programs: type 'sudo apt-get install $(PROGRAMS)'."; exit 1; }

# Debian's python3 comes without its venv module, in a package of its own.
python:
	@$(PYTHON) -c "import sys; sys.exit(sys.version_info < (3, 11))" || { echo >&2 \
	  "narrate needs Python 3.11 or newer: install it, or name it as in 'make demo PYTHON=python3.12'."; \
	  exit 1; }
	@$(HAS_VENV) || { test "$$(id -u)" = 0 && command -v apt-get > /dev/null && apt-get update -qq && \
	  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq python3-venv > /dev/null && $(HAS_VENV); } || \
	  { echo >&2 "$(PYTHON) lacks its venv module: type 'sudo apt-get install python3-venv'."; exit 1; }

# hatchling asks for editables only when it makes an editable install, so pyproject.toml cannot name it.
# num2words wants docopt for its own command line only, and docopt comes as no wheel: it is left out.
# The extra "train" stays out: torch is gigabytes, and only models/ needs it.
EXTRAS := --extra models --extra microphone --extra postgres --extra fleet --extra dev

lock: python
	@folder=$$(mktemp -d) && trap 'rm -rf "$$folder"' EXIT && \
	$(PYTHON) -m venv "$$folder" && "$$folder/bin/pip" install --quiet --disable-pip-version-check $(UV) && \
	echo 'docopt; python_version < "0"' > "$$folder/overrides.txt" && \
	$(PYTHON) -c "import tomllib; \
	  print(*tomllib.load(open('pyproject.toml', 'rb'))['build-system']['requires'], sep='\n')" \
	  > "$$folder/build.in" && \
	echo 'editables>=0.3,<1' >> "$$folder/build.in" && \
	"$$folder/bin/uv" pip compile pyproject.toml "$$folder/build.in" $(EXTRAS) --upgrade --quiet \
	  --override "$$folder/overrides.txt" --universal --python-version 3.11 --only-binary :all: \
	  --generate-hashes --no-header --no-annotate --no-emit-index-url --output-file "$$folder/lock" && \
	{ echo "# Made by 'make lock': every package, exact, with the digests of its wheels."; \
	  cat "$$folder/lock"; } > requirements.lock
