#!/bin/sh
# Independent readers that the tests use where they are found. Installs them where it may (Debian, root);
# where it may not, says which checks will be left out. Never fails.
missing=""
for pair in chromium:chromium pdfinfo:poppler-utils ogrinfo:gdal-bin; do
    command -v "${pair%%:*}" >/dev/null 2>&1 || missing="$missing ${pair##*:}"
done
[ -z "$missing" ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "Installing readers for the tests:$missing"
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $missing; } >/dev/null 2>&1 || true
fi
command -v chromium >/dev/null 2>&1 || echo "Left out: how a browser draws the sheets and runs the phone page (chromium is not installed)"
command -v pdfinfo >/dev/null 2>&1 || echo "Left out: what poppler reads in the PDFs (poppler-utils is not installed)"
command -v ogrinfo >/dev/null 2>&1 || echo "Left out: what the command-line GDAL reads in the DXF (gdal-bin is not installed)"
exit 0
