# SPDX-License-Identifier: GPL-3.0-or-later
set(extra JPEG::JPEG PNG::PNG TIFF::TIFF PkgConfig::LCMS PkgConfig::HEIF)
