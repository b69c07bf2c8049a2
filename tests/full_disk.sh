#!/usr/bin/env bash
# A disk that fills up in the middle of a rehearsal: full_disk.sh PROGRAM SMALL_DISK
# The first answer that did not fit must be refused in words, every answer that the program called kept must be in the
# logbook afterwards and no other, the logbook must be sound, and with room again the next answer must be kept.
set -euo pipefail
program=$1
disk=$2
out=$(mktemp)
trap 'rm -f "$out"' EXIT

fail() { echo "a full disk: $*" >&2; tail -n 20 "$out" >&2; exit 1; }
log() { "$program" --data "$disk/data" log "$@"; }
kept() { grep -c '\. kept\.$' "$out" || true; }
held() { log export | grep -c '^{"answer"' || true; }
# Answers "I do not know" so many times; each is a miss, and a miss is kept as any answer is.
rehearse() { # QUESTIONS SEED
  local code=0
  "$program" --data "$disk/data" rehearse "$routine" --plain --seed "$2" --questions "$1" \
    < <(printf -- '-\n%.0s' $(seq "$1")) >"$out" 2>&1 || code=$?
  echo "$code"
}

routine=$(printf '%s\n' drills/*.yaml | head -n 1)

# An empty logbook, then all the room taken but a little.
log check >/dev/null
free=$(df --output=avail -k "$disk" | tail -n 1)
room=200
[ "$free" -gt "$room" ] || fail "only $free kB are free to begin with"
dd if=/dev/zero of="$disk/filler" bs=1k count=$((free - room)) status=none

code=$(rehearse 1000 2)
said=$(kept)
refused=$(grep -c 'not kept: ' "$out" || true)
[ "$code" = 4 ] || fail "the program ended with code $code instead of 4"
[ "$refused" -gt 0 ] || fail "the disk never filled up, or nobody said so"
[ "$said" -gt 0 ] || fail "it was full from the start"
grep -q 'not kept: .*disk' "$out" || fail "it was not said that the disk is full"

rm "$disk/filler"
log check || fail "the logbook is not sound"
[ "$(held)" = "$said" ] || fail "$said answers were called kept, $(held) are in the logbook"

# With room again it goes on.
code=$(rehearse 5 3)
[ "$code" = 0 ] || fail "with room again the program ended with code $code"
[ "$(kept)" = 5 ] || fail "with room again only $(kept) of 5 were kept"
[ "$(held)" = $((said + 5)) ] || fail "with room again $(held) are in the logbook"
log check >/dev/null || fail "the logbook is not sound in the end"
echo "a full disk: $said answers kept, $refused refused, none lost; with room again it goes on"
