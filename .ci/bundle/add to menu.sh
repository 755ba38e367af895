#!/bin/sh
# Puts arcbed into this user's menu and offers it for class notes and their music; run it again after a move.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
data=${XDG_DATA_HOME:-$HOME/.local/share}
mkdir -p "$data/applications" "$data/icons/hicolor/scalable/apps"
cp "$here/arcbed.svg" "$data/icons/hicolor/scalable/apps/arcbed.svg"
cat >"$data/applications/arcbed.desktop" <<ENTRY
[Desktop Entry]
Type=Application
Name=arcbed
Comment=Times the music of a class to its plan
Exec="$here/arcbed" open %f
Icon=arcbed
Terminal=false
Categories=AudioVideo;Audio;
MimeType=text/markdown;text/plain;application/json;
ENTRY
command -v update-desktop-database >/dev/null && update-desktop-database -q "$data/applications" || true
echo "arcbed is in your menu now."
