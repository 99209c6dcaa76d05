# SPDX-License-Identifier: GPL-3.0-or-later
# OpenCV's own sub-pixel corner and ellipse fit, on the same pictures as ours.
set(extra opencv_core opencv_imgproc)
