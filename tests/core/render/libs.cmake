# SPDX-License-Identifier: GPL-3.0-or-later
set(extra opencv_core opencv_imgproc)
