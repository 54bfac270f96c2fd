#!/usr/bin/env bash
# Makes the pictures of the README's tour out of those that `make e2e` leaves in shots/. Needs ImageMagick.
set -euo pipefail
cd "$(dirname "$0")/../.."
# picture: the screen's name in shots/, the part of it (width x height + from the left + from the top)
take() { convert "shots/$2.png" -crop "$3" +repage -background white -resize 760x -colors 64 -define png:compression-level=9 "web/tour/$1.png"; }
take side-by-side side-by-side-light-1440 1440x1000+0+0
take release-preview release-second-look-light-1440 1440x1420+0+0
take card card-light-820 820x1500+0+0
take plan-desk plan-desk-light-1440 "${DESK:-1440x1500+0+2970}"
take kept-plan kept-plan-light-820 820x1500+0+0
take step-press step-press-light-820 820x1226+0+0
take stock roll-light-1440 1440x1500+0+0
take fair-view fair-view-light-1440 1440x1500+0+0
take over-time charts-light-1440 1440x1100+0+0
take branch branch-light-1440 1440x1500+0+0
