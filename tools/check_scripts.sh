#!/usr/bin/env bash
# Checks the types of the app's scripts with the TypeScript compiler, where Node.js is at hand.
set -u
if ! command -v npm >/dev/null 2>&1; then
  echo "Node.js is not installed: the types of the app's scripts are not checked."
  exit 0
fi
set -e
if [ ! node_modules/.package-lock.json -nt package-lock.json ]; then npm ci --no-progress --silent; touch node_modules/.package-lock.json; fi
npx tsc -p tsconfig.json
