# SPDX-License-Identifier: GPL-3.0-or-later
# OpenCV's own sub-pixel corner and ellipse fit, on the same pictures as ours; scenes and adjustment for whole jobs.
set(extra opencv_core opencv_imgproc core_render core_adjust core_drawing)
