// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/fit/Tone.h"

#include <algorithm>
#include <cmath>

namespace trammel::fit {
namespace {

/// IEC 61966-2-1, continued beyond 0 and 1 so that a fit may pass there.
double codeOf(double light) {
    return light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1.0 / 2.4) - 0.055;
}
double slopeOf(double light) {
    return light <= 0.0031308 ? 12.92 : 1.055 / 2.4 * std::pow(light, 1.0 / 2.4 - 1.0);
}

constexpr int kGreyNodes = 2600, kMixedNodes = 160;
constexpr double kGreyFrom = -0.1, kGreyTo = 1.2;

}  // namespace

std::shared_ptr<const Tone::Table> Tone::greyTable() {
    static const std::shared_ptr<const Table> table = [] {
        auto t = std::make_shared<Table>();
        t->from = kGreyFrom;
        t->setSpacing((kGreyTo - kGreyFrom) / kGreyNodes);
        for (int i = 0; i <= kGreyNodes; ++i) {
            const double light = t->from + i * t->spacing;
            t->nodes.push_back({codeOf(light), slopeOf(light)});
        }
        return t;
    }();
    return table;
}

Tone::Tone() : table_(greyTable()) {}

Tone::Tone(const Vec3& first, const Vec3& second) : table_(greyTable()), tells_(false) {
    const double a = luminanceOf(first), b = luminanceOf(second);
    const Vec3 perLight = (second - first) / (b - a);
    if (!perLight.allFinite() || perLight.cwiseAbs().maxCoeff() > 20.0) return;
    // Somewhat beyond both surfaces: what a fit finds for them may differ from the colours given.
    const double room = 0.25 * std::abs(b - a) + 0.01;
    auto table = std::make_shared<Table>();
    table->from = std::min(a, b) - room;
    table->setSpacing((std::abs(b - a) + 2.0 * room) / kMixedNodes);
    for (int i = 0; i <= kMixedNodes; ++i) {
        const double light = table->from + i * table->spacing;
        const Vec3 rgb = first + (light - a) * perLight;
        Vec3 codes, slopes;
        for (int k = 0; k < 3; ++k) {
            const Value v = read(*greyTable(), rgb(k));
            codes(k) = v.code;
            slopes(k) = v.slope * perLight(k);
        }
        table->nodes.push_back({lumaOf(codes), lumaOf(slopes)});
        const bool between = light > std::min(a, b) && light < std::max(a, b);
        if (between && !(table->nodes.back().slope > 0.05)) return;
    }
    table_ = std::move(table);
    tells_ = true;
}

double Tone::light(double code) const {
    const auto& nodes = table_->nodes;
    const auto up = std::lower_bound(nodes.begin(), nodes.end(), code,
                                     [](const Value& v, double c) { return v.code < c; });
    const auto i =
        std::clamp<std::ptrdiff_t>(up - nodes.begin(), 1, static_cast<std::ptrdiff_t>(nodes.size()) - 1);
    const Value &a = nodes[static_cast<std::size_t>(i) - 1], &b = nodes[static_cast<std::size_t>(i)];
    const double part = b.code != a.code ? (code - a.code) / (b.code - a.code) : 0.0;
    return table_->from + (static_cast<double>(i) - 1.0 + part) * table_->spacing;
}

}  // namespace trammel::fit
