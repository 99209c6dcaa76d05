# SPDX-License-Identifier: GPL-3.0-or-later
# An independent Rodrigues formula to compare rotations with.
set(extra opencv_core opencv_calib3d)
