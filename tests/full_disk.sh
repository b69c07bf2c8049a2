#!/usr/bin/env bash
# A disk that fills up in the middle of a rehearsal: full_disk.sh PROGRAM SMALL_DISK
# Every answer that the program said it kept must be in the logbook afterwards, the first that did not fit must be
# refused in words, and the logbook must be sound.
set -euo pipefail
program=$1
disk=$2
out=$(mktemp)
trap 'rm -f "$out"' EXIT

routine=$("$program" --data "$disk/data" log check >/dev/null 2>&1; ls drills/*.yaml | head -n 1)
# Fill the disk but for a little room, then answer until it is refused.
"$program" --data "$disk/data" rehearse "$routine" --plain --seed 1 --questions 1 </dev/null >/dev/null || true
free=$(df --output=avail -k "$disk" | tail -n 1)
dd if=/dev/zero of="$disk/filler" bs=1k count=$((free > 120 ? free - 120 : 0)) status=none
yes - | head -n 3000 | "$program" --data "$disk/data" rehearse "$routine" --plain --seed 2 --questions 1000 >"$out" 2>&1 || true
said=$(grep -c '\. kept\.$' "$out" || true)
if ! grep -q 'not kept: the disk is full' "$out"; then
  echo "the disk never filled up, or nobody said so" >&2
  tail -n 20 "$out" >&2
  exit 1
fi
rm "$disk/filler"
"$program" --data "$disk/data" log check
held=$("$program" --data "$disk/data" log export - | grep -c '^{"answer"' || true)
echo "said to be kept: $said, in the logbook: $held"
[ "$said" -gt 0 ] && [ "$said" -eq "$held" ]
