#!/bin/sh
# What pip and npm cannot bring. `venv`: Python's venv module. `tests`: a Chromium, and a sound server to record it.
# `soak`: WebKitGTK's small browser and a screen for it, where there is apt; the long run says where they are missing.
# Debian's own packages on Debian; elsewhere the test tool's own Chromium. PY is the Python of the virtual environment.
set -eu

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"
  elif command -v sudo >/dev/null; then sudo "$@"
  else echo "Please run as root: $*" >&2; exit 1
  fi
}

apt_install() {
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq -o Dpkg::Use-Pty=0 --no-install-recommends "$@" </dev/null && return
  as_root apt-get update -qq </dev/null
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq -o Dpkg::Use-Pty=0 --no-install-recommends "$@" </dev/null
}

has_apt() { command -v apt-get >/dev/null; }
# Ubuntu's package `chromium` is only a pointer to a snap, hence Debian alone
is_debian() { [ -r /etc/os-release ] && grep -qx 'ID=debian' /etc/os-release; }

case "${1:-}" in
venv)
  if has_apt; then apt_install python3-venv
  else echo "This Python lacks venv or ensurepip: install them, or say PYTHON=… for another one" >&2; exit 1
  fi ;;
tests)
  wanted=
  if [ -n "${CHROMIUM:-}" ]; then :
  elif is_debian; then
    command -v chromium >/dev/null && command -v chromium-headless-shell >/dev/null || wanted="chromium chromium-headless-shell"
  elif ! command -v chromium >/dev/null; then
    "$PY" -m playwright install --with-deps --only-shell chromium || "$PY" -m playwright install --only-shell chromium
  fi
  if has_apt; then
    command -v pulseaudio >/dev/null || wanted="$wanted pulseaudio"
    command -v parec >/dev/null || wanted="$wanted pulseaudio-utils"
  elif ! command -v pulseaudio >/dev/null || ! command -v parec >/dev/null; then
    echo "The sound test records the browser through PulseAudio: install pulseaudio and its utilities (parec)" >&2
  fi
  if [ -n "$wanted" ]; then
    echo "Installing with apt:$(printf ' %s' $wanted) (about 300 MB) …"
    apt_install $wanted
  fi ;;
soak)
  if has_apt && ! { command -v WebKitWebDriver && command -v Xvfb; } >/dev/null; then
    echo "Installing WebKitGTK with apt (about 200 MB) …"
    apt_install webkit2gtk-driver xvfb gstreamer1.0-plugins-base gstreamer1.0-plugins-good gstreamer1.0-pulseaudio
  fi ;;
*) echo "usage: system.sh venv|tests|soak" >&2; exit 2 ;;
esac
