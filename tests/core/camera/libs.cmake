# SPDX-License-Identifier: GPL-3.0-or-later
# OpenCV: projectPoints is the published convention that ours must equal; remap makes the pictures to compare with.
set(extra opencv_core opencv_calib3d opencv_imgproc)
