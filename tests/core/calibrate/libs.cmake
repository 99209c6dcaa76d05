# SPDX-License-Identifier: GPL-3.0-or-later
# OpenCV's calibration on the same corners; rendered photographs of boards; the lens database's own library.
set(extra opencv_core opencv_imgproc opencv_calib3d core_render core_adjust PkgConfig::LENSFUN)
