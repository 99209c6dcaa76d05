# SPDX-License-Identifier: GPL-3.0-or-later
# Debian's polygon library, whose offsets ours are compared with (libpolyclipping-dev).
set(extra polyclipping)
