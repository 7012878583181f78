#!/usr/bin/env bash
# The real window on a screen in memory, with real keys and a camera that saves into a watched folder:
# from a new logbook to the tally and the page. What counts is what was stored.
#
#   tests/window.sh            builds the program and runs
#   tests/window.sh PROGRAM    runs this program
#   PICTURES=DIR tests/window.sh ...   keeps pictures of every place there
#
# Debian packages that are missing are installed where that is allowed; where there is no way to a
# screen the script says so and ends well, since the rest of the tests does not need one.
set -euo pipefail
cd "$(dirname "$0")/.."

needed=(Xvfb:xvfb xdotool:xdotool import:imagemagick)
missing=()
for pair in "${needed[@]}"; do
    command -v "${pair%%:*}" >/dev/null 2>&1 || missing+=("${pair##*:}")
done
libraries=(libgl1 libegl1 libgl1-mesa-dri libxkbcommon-x11-0 libxcursor1 libxi6 libx11-xcb1 libdbus-1-3)
if command -v dpkg >/dev/null 2>&1; then
    for library in "${libraries[@]}"; do
        dpkg -s "$library" >/dev/null 2>&1 || missing+=("$library")
    done
fi
if ((${#missing[@]})); then
    echo "installing ${missing[*]}"
    if ! { timeout 240 apt-get install -y "${missing[@]}" >/dev/null 2>&1 ||
        { timeout 120 apt-get update >/dev/null 2>&1 && timeout 240 apt-get install -y "${missing[@]}" >/dev/null 2>&1; }; }; then
        echo "no screen in memory: ${missing[*]} cannot be installed; the window was not tried"
        exit 0
    fi
fi

program=${1:-}
if [ -z "$program" ]; then
    timeout 1500 cargo build --release
    program=target/release/tailfan
fi
program=$(realpath "$program")
images=$(realpath sample-images)
scratch=$(mktemp -d)
work=$scratch/farm
mkdir "$work"
export HOME="$work/home" XDG_CONFIG_HOME="$work/home/.config" XDG_CACHE_HOME="$work/home/.cache" XDG_DATA_HOME="$work/home/.data"
export LIBGL_ALWAYS_SOFTWARE=1 NO_AT_BRIDGE=1
mkdir -p "$HOME" "$work/camera"

fail() {
    echo "FAILED: $*"
    [ -n "${DISPLAY:-}" ] && [ -n "${PICTURES:-}" ] && import -window root "$PICTURES/failed.png" || true
    cat "$work/words" 2>/dev/null || true
    exit 1
}

# Without a display: one sentence that names what works, and exit 2.
unset DISPLAY WAYLAND_DISPLAY WAYLAND_SOCKET
code=0
timeout 60 "$program" >"$work/words" 2>&1 || code=$?
[ "$code" = 2 ] || fail "without a display the exit was $code"
grep -q "tailfan demo" "$work/words" || fail "without a display demo was not named"
grep -q "tailfan read" "$work/words" || fail "without a display read was not named"

for number in $(seq 90 120); do
    [ -e "/tmp/.X11-unix/X$number" ] || break
done
Xvfb ":$number" -screen 0 1280x820x24 -noreset >/dev/null 2>&1 &
screen=$!
window_process=
end() {
    [ -n "$window_process" ] && kill "$window_process" 2>/dev/null || true
    kill "$screen" 2>/dev/null || true
    rm -rf "$scratch"
}
trap end EXIT
export DISPLAY=":$number"
sleep 2

# Waits until a command succeeds.
until_true() {
    local seconds=$1
    shift
    for _ in $(seq $((seconds * 5))); do
        if "$@" >/dev/null 2>&1; then return 0; fi
        sleep 0.2
    done
    return 1
}

picture() {
    if [ -n "${PICTURES:-}" ]; then
        mkdir -p "$PICTURES"
        sleep 1.5
        import -window root "$PICTURES/$1.png"
    fi
}

open_window() {
    cd "$work"
    "$program" >"$work/words" 2>&1 &
    window_process=$!
    until_true 60 xdotool search --pid "$window_process" --name Tailfan || fail "no window came up"
    window=$(xdotool search --pid "$window_process" --name Tailfan | tail -1)
    xdotool mousemove 1270 812
    # A window that is not shown yet takes no keys.
    until_true 60 xdotool windowfocus "$window" || fail "the window takes no keys"
    sleep 1.5
    until_true 20 xdotool windowfocus "$window" || fail "the window takes no keys"
    sleep 0.5
}

keys() {
    for key in "$@"; do
        xdotool key --clearmodifiers "$key"
        sleep 0.3
    done
}

words() {
    sleep 0.7
    xdotool type --delay 20 "$1"
    sleep 0.4
}

# Saves the table of the sample under a name, over what was there. A machine that is busy may lose a
# letter of the path: then it is tried again.
save_table() {
    rm -f "$work/$1.csv"
    for _ in 1 2 3 4 5; do
        keys ctrl+s
        words "$work/$1.csv"
        keys Return
        if until_true 4 test -s "$work/$1.csv"; then return 0; fi
        keys Escape
        sleep 2
    done
    fail "the table $1 was not saved"
}

# How many rows of a table have a call; the call is the seventh column.
called() { awk -F, 'NR > 1 && $7 != "" { n++ } END { print n + 0 }' "$work/$1.csv"; }
rows() { awk 'END { print NR - 1 }' "$work/$1.csv"; }
read_so_far() { awk -F, 'NR > 1 && ($4 == "yes" || $5 != "") { n++ } END { print n + 0 }' "$work/$1.csv"; }

all_read() {
    save_table now
    [ "$(rows now)" = "$1" ] && [ "$(read_so_far now)" = "$1" ]
}

open_window
picture welcome
# a new logbook
keys ctrl+shift+n
words "$work/farm.logbook"
keys Return
until_true 30 test -f "$work/farm.logbook" || fail "no logbook was made"
# a new sample: the name of the pond has the keyboard, Enter begins
keys ctrl+n
sleep 0.6
picture new-sample
words "Pond 9"
keys Return
sleep 1
# the camera saves into a watched folder
keys F8
words "$work/camera"
keys Return
sleep 1
animals=25
dropped=$(date +%s%N)
cp "$images/tip-01.jpg" "$work/camera/tip-01.jpg"
until_true 20 sh -c "ls '$work/farm-photos' | grep -q ." || fail "the first photo did not come in"
echo "a photo was in the logbook $((($(date +%s%N) - dropped) / 1000000)) ms after the camera saved it"
for number in $(seq -w 2 $animals); do
    cp "$images/tip-$number.jpg" "$work/camera/tip-$number.jpg"
    sleep 0.1
done
until_true 30 all_read $animals || fail "$(read_so_far now) of $animals photos were read, $(rows now) came in"
picture slides-uncalled

# The person at the eyepiece: Enter where that agrees, else the stage key of the made-up reader.
begun=$(date +%s)
keys_of() {
    case $1 in
    A | B | C | E) echo "$1" | tr 'A-Z' 'a-z' ;;
    unread) echo "r 1" ;;
    *) echo "${1#D}" ;;
    esac
}
by_stage_key=0
count=0
while IFS=, read -r animal stage _; do
    [ "$animal" = animal ] && continue
    count=$((count + 1))
    [ $count -gt $animals ] && break
    proposal=$(awk -F, -v row=$((count + 1)) 'NR == row { print $6 }' "$work/now.csv")
    before=$((count - 1))
    if [ "$proposal" = "$stage" ]; then
        keys Return
        save_table step
        if [ "$(called step)" = "$before" ]; then
            by_stage_key=$((by_stage_key + 1))
            # shellcheck disable=SC2046
            keys $(keys_of "$stage")
        fi
    else
        by_stage_key=$((by_stage_key + 1))
        # shellcheck disable=SC2046
        keys $(keys_of "$stage")
    fi
done <"$images/calls.csv"
sleep 1.5
spent=$(($(date +%s) - begun))
picture tally-uncalled
save_table end
[ "$(called end)" = $animals ] || fail "$(called end) of $animals animals are called"
special=$(awk -F, 'NR > 1 && ($6 != $7 || $8 == "yes" || $4 != "yes") { n++ } END { print n + 0 }' "$work/end.csv")
[ "$special" -ge 6 ] || fail "only $special slides needed more than agreement"
[ "$spent" -lt 300 ] || fail "calling took $spent s"
wrong=$(paste -d, <(awk -F, 'NR > 1 { print $7 }' "$work/end.csv") <(awk -F, 'NR > 1 { print $2 }' "$images/calls.csv" | head -$animals) |
    awk -F, '$1 != $2 { n++ } END { print n + 0 }')
[ "$wrong" = 0 ] || fail "$wrong calls are not those of the reader"
echo "$animals slides called in $spent s by keys; $by_stage_key by stage keys, $special wrong, absent, refused or for a second reader"
# undo and redo
keys ctrl+z ctrl+z
save_table undone
[ "$(called undone)" = $((animals - 2)) ] || fail "two calls taken back leave $(called undone)"
keys ctrl+y ctrl+y
save_table redone
[ "$(called redone)" = $animals ] || fail "two calls done again make $(called redone)"
# the page
keys ctrl+shift+s
words "page.pdf"
keys Return
until_true 60 sh -c "head -c 4 '$work/page.pdf' | grep -q %PDF" || fail "no page was written"
# a program that is killed loses nothing of what was confirmed
kill -9 "$window_process"
wait "$window_process" 2>/dev/null || true
open_window
until_true 30 all_read $animals || fail "after the kill the sample did not come back"
[ "$(called now)" = $animals ] || fail "after the kill $(called now) calls are left"

# Pictures of every place, on the made-up farm: its sample called by keys as its reader called it.
all_places() {
    keys ctrl+shift+f
    until_true 600 all_read 26 || fail "the made-up farm did not come"
    while IFS=, read -r animal stage _; do
        [ "$animal" = animal ] && continue
        # shellcheck disable=SC2046
        keys $(keys_of "$stage")
    done <"$images/calls.csv"
    sleep 2
    save_table made-up
    [ "$(called made-up)" = 26 ] || fail "$(called made-up) of the 26 made-up animals are called"
    keys Escape
    picture tally
    keys ctrl+3
    sleep 3
    picture forecast
    keys v
    picture waiting
    keys Escape Escape ctrl+4
    picture ponds
    keys F1
    picture actions
    keys Escape ctrl+comma
    picture settings
    keys Escape ctrl+m
    picture scale
    keys Escape ctrl+e
    picture counting
    keys Escape ctrl+1 Right Right Right Left
    picture slides
    keys F9
    picture slides-dark
    keys ctrl+2
    picture tally-dark
    keys ctrl+3
    picture forecast-dark
    keys F9 ctrl+1
    xdotool windowsize "$window" 1024 700
    picture slides-1024
    keys ctrl+2
    picture tally-1024
    keys ctrl+3
    picture forecast-1024
    xdotool windowsize "$window" 1280 820
    for _ in 1 2 3 4 5 6 7 8; do keys ctrl+plus; done
    keys ctrl+1
    picture slides-200
    keys ctrl+2
    picture tally-200
    keys ctrl+3
    picture forecast-200
    keys ctrl+0
}
if [ -n "${PICTURES:-}" ]; then all_places; fi
echo "the window holds: calls, undo, page, a watched folder, and a kill"
