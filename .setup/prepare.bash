# Sourced by demo/run and tests/run: makes all they need, once, and costs nothing when it is there.
#
#     prepare demo      the program
#     prepare dev       the program and the tools of the checks
#
# System libraries come through apt, where we are root; Python packages into .venv; the weighing ear through
# `layup models get`. A mark in .venv says for what it was made. Whoever sources this has `set -euo pipefail`.

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)
venv=$root/.venv
mark=$venv/made-for
log=$venv/setup.log
weighing_ear=whisper-tiny-en

# Each system library that a Python package loads by its name, and the Debian package that has it.
libraries=(libespeak-ng.so.1:libespeak-ng1 libzbar.so.0:libzbar0 libportaudio.so.2:libportaudio2
  libGL.so.1:libgl1 libgthread-2.0.so.0:libglib2.0-0 libpangoft2-1.0.so.0:libpangoft2-1.0-0
  libharfbuzz-subset.so.0:libharfbuzz-subset0)
# Programs that some tests compare ours with, each in the Debian package of its name; without them those are skipped.
test_programs=(zint sqlite3 chromium)

say() { printf 'setup: %s\n' "$*"; }

complain() {
  printf 'setup: %s\n' "$@" >&2
  return 1
}

give_up() {
  complain "$@" || exit 1
}

prepare() {
  local want=$1
  if ! ready "$want"; then
    exec 9<"$root/pyproject.toml"
    flock -n 9 || { say "waiting for another run that is setting this folder up" && flock 9; } # which is then found done
    ready "$want" || make_ready "$want"
    exec 9<&-
  fi
  get_weighing_ear
}

# What .venv must have been made for: this pyproject.toml, place (a venv cannot be moved), Python, and these extras.
made_for() { echo "$(sha256sum <"$root/pyproject.toml") $root $(readlink -f "$venv/bin/python") $1"; }

ready() {
  [[ -x $venv/bin/python && -f $mark ]] || return 1
  local found
  found=$(<"$mark")
  [[ $found == "$(made_for "$1")" || $found == "$(made_for dev)" ]]
}

make_ready() {
  local want=$1 python missing
  mapfile -t missing < <(missing_packages)
  ((${#missing[@]} == 0)) || install_packages "${missing[@]}" || give_up "Then run this again."
  if [[ $want == dev ]]; then
    mapfile -t missing < <(missing_programs)
    ((${#missing[@]} == 0)) || install_packages "${missing[@]}" || say "until then the tests that want them are skipped."
  fi
  python=$(find_python) || give_up "no Python 3.11, 3.12 or 3.13 with its venv module was found." \
    "Install one (Debian 12: apt-get install python3 python3-venv) and run this again."
  make_venv "$python"
  install_project "$want"
  made_for "$want" >"$mark"
}

# Installs Debian packages, or says what a person has to do and fails.
install_packages() {
  local call="apt-get install -y --no-install-recommends $*"
  if ! command -v apt-get >/dev/null; then
    complain "this machine lacks what Debian has in: $*" "Install them in this system's own way."
  elif ((EUID != 0)); then
    complain "these Debian packages are missing: $*" "Only root may install them: apt-get update && $call"
  else
    say "installing $* with apt-get"
    { apt-get -qq update && DEBIAN_FRONTEND=noninteractive $call -qq; } </dev/null >/dev/null ||
      complain "apt-get could not install $*; its lines above say why." "By hand: apt-get update && $call"
  fi
}

missing_packages() {
  find_python >/dev/null || printf '%s\n' python3 python3-venv
  local known pair
  known=$(PATH=$PATH:/sbin:/usr/sbin ldconfig -p)
  for pair in "${libraries[@]}"; do
    [[ $known == *"${pair%%:*} "* ]] || echo "${pair##*:}"
  done
}

missing_programs() {
  local program
  for program in "${test_programs[@]}"; do
    command -v "$program" >/dev/null || echo "$program"
  done
}

# The first Python that is in range and can make a virtual environment.
find_python() {
  local python
  for python in python3 python3.13 python3.12 python3.11 /usr/bin/python3; do
    if "$python" -c 'import sys, ensurepip; sys.exit(not (3, 11) <= sys.version_info[:2] < (3, 14))' 2>/dev/null; then
      echo "$python"
      return
    fi
  done
  return 1
}

make_venv() {
  rm -f "$mark"
  [[ $("$venv/bin/pip" --version 2>/dev/null) == *" from $venv/"* ]] && return # an earlier run got this far
  say "making .venv with $("$1" --version)"
  rm -rf "$venv"
  "$1" -m venv "$venv" || give_up "$1 -m venv failed; its lines above say why."
}

install_project() {
  local extras='' began=$SECONDS
  [[ $1 == dev ]] && extras='[dev]'
  say "installing the project and its Python packages into .venv (some 200 MB, a minute or two)"
  "$venv/bin/python" -m pip install --disable-pip-version-check --progress-bar off --editable "$root$extras" \
    </dev/null 2>&1 | tee "$log" | sed -un 's/^Collecting \([A-Za-z0-9_.-]*\).*/setup:   \1/p' ||
    give_up "pip could not install the project: $(grep -o 'ERROR: .*' "$log" | tail -n 1)" \
      "Is there a network? All that pip said is in $log. Then run this again."
  say "installed in $((SECONDS - began)) s"
}

# Whisper's weights, once; where they cannot be had everything runs on Vosk alone, and it is tried again a day later.
get_weighing_ear() {
  local failed=$venv/no-$weighing_ear
  [[ -f ${LAYUP_MODELS:-$root/models}/$weighing_ear/model.bin ]] && return
  [[ -f $failed && -z $(find "$failed" -mmin +1440) ]] && say "$(<"$failed")" && return
  rm -f "$failed"
  if ! "$venv/bin/layup" models get "$weighing_ear"; then
    echo "without $weighing_ear: everything runs on Vosk alone. \`.venv/bin/layup models get $weighing_ear\`" \
      "fetches it; this script tries again in a day." >"$failed"
    say "$(<"$failed")"
  fi
}
