# SPDX-License-Identifier: GPL-3.0-or-later
set(extra nlohmann_json::nlohmann_json)
