#!/usr/bin/env bash
# Installs the distribution's Chromium for the browser tests where it is missing.
# On a machine where that cannot be done, the browser tests skip with a reason.
set -u
if command -v chromium >/dev/null 2>&1; then exit 0; fi
if ! command -v apt-get >/dev/null 2>&1; then
  echo "Chromium is not installed and this system has no apt-get: the browser tests will be skipped."
  exit 0
fi
as_root=""
if [ "$(id -u)" != 0 ]; then as_root="sudo -n"; fi
export DEBIAN_FRONTEND=noninteractive
for attempt in 1 2 3; do
  $as_root apt-get update -qq >/dev/null 2>&1
  if $as_root apt-get install -y -qq --no-install-recommends chromium fonts-dejavu-core >/dev/null 2>&1; then exit 0; fi
  sleep 3
done
echo "Chromium could not be installed: the browser tests will be skipped."
exit 0
