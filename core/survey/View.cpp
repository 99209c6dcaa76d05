// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/survey/View.h"

#include <array>

namespace trammel::survey {
namespace {

struct Row {
    View view;
    std::string_view name;
    Vec3 right, down;  // camera axes in the part's frame
};

const std::array<Row, 7>& table() {
    static const std::array<Row, 7> rows = {{
        {View::Top, "top", {1, 0, 0}, {0, -1, 0}},
        {View::Bottom, "bottom", {-1, 0, 0}, {0, -1, 0}},
        {View::Front, "front", {1, 0, 0}, {0, 0, -1}},
        {View::Rear, "rear", {-1, 0, 0}, {0, 0, -1}},
        {View::Left, "left", {0, -1, 0}, {0, 0, -1}},
        {View::Right, "right", {0, 1, 0}, {0, 0, -1}},
        {View::Oblique, "oblique", {1, 0, 0}, {0, -1, 0}},
    }};
    return rows;
}

}  // namespace

Mat3 squareRotation(View view) {
    const Row& row = table()[static_cast<std::size_t>(view)];
    Mat3 r;
    r.row(0) = row.right;
    r.row(1) = row.down;
    r.row(2) = Vec3(row.right.y() * row.down.z() - row.right.z() * row.down.y(),
                    row.right.z() * row.down.x() - row.right.x() * row.down.z(),
                    row.right.x() * row.down.y() - row.right.y() * row.down.x());
    return r;
}

std::string_view viewName(View view) { return table()[static_cast<std::size_t>(view)].name; }

std::optional<View> viewFromName(std::string_view name) {
    for (const Row& row : table())
        if (row.name == name) return row.view;
    return std::nullopt;
}

}  // namespace trammel::survey
