#!/bin/sh
# Makes every font file that the program carries, each beside its licence, from
# published npm packages. They are the only third-party files in this repository.
#
#   internal/web/shell/static/fonts/fetch.sh            fetches the packages with npm
#   internal/web/shell/static/fonts/fetch.sh DIR        takes them from DIR/node_modules
#
# On the screen: Brygada 1918 and Atkinson Hyperlegible Next, as woff2, cut by
# script as their packages cut them. On paper: Source Sans 3 and Source Serif 4,
# which have Greek and Cyrillic; 'Source' is a reserved font name, so the files
# are shipped unchanged.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
paper=$here/../../../../export/sheetpdf/fonts
from=${1:-}
if [ -z "$from" ]; then
  from=$(mktemp -d)
  trap 'rm -rf "$from"' EXIT
  (cd "$from" && npm init -y >/dev/null && npm install --ignore-scripts --no-audit --no-fund \
    @fontsource-variable/brygada-1918@5.3.0 @fontsource-variable/atkinson-hyperlegible-next@5.3.0 \
    source-sans@3.52.0 source-serif@4.5.1 >/dev/null)
fi
m=$from/node_modules
mkdir -p "$paper"
put() { cp "$1" "$2" && chmod 644 "$2"; }

for script in latin latin-ext greek cyrillic; do
  put "$m/@fontsource-variable/brygada-1918/files/brygada-1918-$script-wght-normal.woff2" "$here/brygada-1918-$script.woff2"
done
put "$m/@fontsource-variable/brygada-1918/LICENSE" "$here/brygada-1918-OFL.txt"
for script in latin latin-ext; do
  put "$m/@fontsource-variable/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-$script-wght-normal.woff2" "$here/atkinson-hyperlegible-next-$script.woff2"
done
put "$m/@fontsource-variable/atkinson-hyperlegible-next/LICENSE" "$here/atkinson-hyperlegible-next-OFL.txt"

for cut in SourceSans3-Regular SourceSans3-Semibold; do
  put "$m/source-sans/TTF/$cut.ttf" "$paper/$cut.ttf"
done
put "$m/source-sans/LICENSE.md" "$paper/SourceSans3-OFL.txt"
for cut in SourceSerif4-Regular SourceSerif4-Semibold; do
  put "$m/source-serif/TTF/$cut.ttf" "$paper/$cut.ttf"
done
put "$m/source-serif/LICENSE.md" "$paper/SourceSerif4-OFL.txt"

ls -l "$here" "$paper"
