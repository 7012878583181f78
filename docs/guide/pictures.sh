#!/usr/bin/env bash
# Makes every picture of the guide anew from the running program, so that none goes stale.
#
#   docs/guide/pictures.sh [PROGRAM]     uses target/release/tailfan unless another is named
#
# Needs pdftoppm (poppler-utils) and convert (imagemagick). The pictures of the window come from
# tests/window.sh where that is there and a screen in memory can be had; otherwise the old ones stay.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:-target/release/tailfan}")
to=$(realpath docs/guide)/pictures
images=$(realpath sample-images)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$to"

small() { convert "$1" -resize "$2" -strip -quality 84 "$3"; }

# The page and the stage key.
"$program" report --calls "$images/calls.csv" --pond "Heron 4" --netted 2026-11-26T06:00+07:00 \
    --species vannamei --weight 14 --water 28 --drain-start 2026-11-27T04:00+07:00 \
    --reader "A. Reader" --out "$work/page.pdf" >/dev/null
pdftoppm -r 70 -f 1 -l 1 -png "$work/page.pdf" "$work/page"
convert "$work"/page-1.png -bordercolor gray70 -border 1 -strip "$to/page.png"
"$program" key --paper A4 --out "$work/key.pdf" >/dev/null
pdftoppm -r 90 -png "$work/key.pdf" "$work/key"
convert "$work"/key-1.png -bordercolor gray70 -border 1 -strip "$to/key.png"

# What was found in a photo, and its margin laid straight.
"$program" read "$images/tip-02.jpg" --scale 0.8 --overlay "$work/overlays" >/dev/null
small "$work/overlays/tip-02-overlay.jpg" 760x "$to/overlay.jpg"
small "$work/overlays/tip-02-strip.jpg" 760x "$to/strip.jpg"

# Good and bad photos, painted.
for condition in standard defocus tilted-focus falloff eyepiece bubbles debris folded; do
    "$program" paint "$work/$condition" --per-stage 1 --seed 5 --condition "$condition" >/dev/null
    photo=$(find "$work/$condition" -name '*.jpg' -o -name '*.png' | sort | sed -n 4p)
    small "$photo" 380x "$to/photo-$condition.jpg"
done

# The window.
if [ -x tests/window.sh ]; then
    PICTURES="$work/window" tests/window.sh "$program" || true
    for place in slides tally forecast; do
        picture=$work/window/$place.png
        [ -e "$picture" ] || continue
        convert "$picture" -resize 900x -strip -colors 160 "$to/window-$place.png"
    done
    # Those of the README.
    for place in slides slides-1024 slides-200 tally tally-dark forecast; do
        picture=$work/window/$place.png
        [ -e "$picture" ] || continue
        convert "$picture" -trim +repage -strip -quality 86 "docs/pictures/window-$place.jpg"
    done
fi
ls -la "$to"
