# SPDX-License-Identifier: GPL-3.0-or-later
# The bundled sample's scene tells where its marks ought to lie.
set(extra core_render)
