# SPDX-License-Identifier: GPL-3.0-or-later
# The sample's scene with its known truth, its survey, and its photographs.
set(extra core_render core_storage core_photo)
