# SPDX-License-Identifier: GPL-3.0-or-later
# Scenes with known truth; OpenCV's projectPoints and, where installed, Ceres as outside judges.
set(extra core_render core_storage opencv_core opencv_calib3d)
find_package(Ceres QUIET)
if(Ceres_FOUND)
  list(APPEND extra Ceres::ceres)
else()
  message(STATUS "Ceres is not installed: the adjustment is not compared with it")
endif()
