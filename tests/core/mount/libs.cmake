# SPDX-License-Identifier: GPL-3.0-or-later
set(extra core_storage nlohmann_json::nlohmann_json)
