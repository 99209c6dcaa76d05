// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>
#include <tuple>

#include "core/calibrate/LensStore.h"
#include "core/photo/Orientation.h"

namespace trammel::calibrate {

namespace {

constexpr double kZoomWithin = 0.03, kSame = 0.005;
constexpr double kUnknownFocus = 0.03;  // of c; common practice, no source
constexpr double kOtherBody = 0.005;  // of the long side, for the principal point; common practice, no source
constexpr double kK1ByZoom = 2.0, kK1ByFocus = 5.0;
constexpr const char* kSerial = " no. ";

std::string alike(const std::string& words) {
    std::string s;
    for (const unsigned char c : words)
        if (!std::isspace(c)) s += static_cast<char>(std::tolower(c));
    return s;
}

std::string modelOf(const std::string& body) { return alike(body.substr(0, body.find(kSerial))); }
bool hasSerial(const std::string& body) { return body.find(kSerial) != std::string::npos; }

void widen(LensRecord& r, LensConstant which, double sigma) { r.covariance(which, which) += sigma * sigma; }

void payForZoom(LensMatch& m, const LensInUse& wanted) {
    if (!(wanted.focal_mm > 0.0) || !(m.record.focal_mm > 0.0)) return;
    m.zoomDifference = wanted.focal_mm / m.record.focal_mm - 1.0;
    if (std::abs(m.zoomDifference) < kSame) return;
    // Engraved focal lengths are rounded, so the whole step stays as doubt.
    m.record.constants.c *= 1.0 + m.zoomDifference;
    widen(m.record, kDistance, std::abs(m.zoomDifference) * m.record.constants.c);
    widen(m.record, kK1, kK1ByZoom * std::abs(m.zoomDifference * m.record.constants.k1));
}

void payForFocus(LensMatch& m, const LensInUse& wanted) {
    const double was = magnificationAt(m.record.focal_mm, m.record.focus_m);
    const double is = magnificationAt(m.record.focal_mm, wanted.focus_m);
    double doubt = kUnknownFocus;
    if (was > 0.0 && is > 0.0) {
        m.focusChange = (1.0 + is) / (1.0 + was) - 1.0;
        m.sameFocus = std::abs(m.focusChange) < kSame;
        doubt = std::abs(m.focusChange);
        m.record.constants.c *= 1.0 + m.focusChange;
    }
    widen(m.record, kDistance, doubt * m.record.constants.c);
    widen(m.record, kK1, kK1ByFocus * doubt * std::abs(m.record.constants.k1));
}

std::string describe(const LensMatch& m, const LensInUse& wanted) {
    const LensRecord& kept = m.kept.record;
    std::string s = kept.date.empty() ? "calibrated" : "calibrated on " + kept.date;
    s += m.sameBody                                       ? " with this body"
         : hasSerial(kept.body) && hasSerial(wanted.body) ? " with another body of this model"
                                                          : " with a body of this model";
    if (kept.focal_mm > 0.0) s += fmt::format(", at {:.4g} mm", kept.focal_mm);
    if (std::abs(m.zoomDifference) >= kSame) s += fmt::format(" (here {:.4g} mm)", wanted.focal_mm);
    if (kept.focus_m > 0.0) s += fmt::format(", focused at {:.3g} m", kept.focus_m);
    if (wanted.focus_m > 0.0 && !m.sameFocus)
        s += fmt::format(" (here {:.3g} m)", wanted.focus_m);
    else if (!m.sameFocus)
        s += ", focus of these photographs unknown";
    if (!m.sameLens)
        s += fmt::format("; these photographs do not name their lens: right only if it is {}", kept.lens);
    s += fmt::format("; principal distance to ±{:.2g} % (k = 2)",
                     200.0 * m.record.sigma(kDistance) / m.record.constants.c);
    return s;
}

std::optional<LensMatch> judge(const LensStore::Kept& kept, const LensInUse& wanted) {
    const LensRecord& r = kept.record;
    const bool sameLens = alike(r.lens) == alike(wanted.lens);
    if (!(sameLens || wanted.lens.empty()) || modelOf(r.body) != modelOf(wanted.body)) return std::nullopt;
    if (wanted.body.empty() && wanted.lens.empty())
        return std::nullopt;                                         // nothing says that they are the same
    if (photo::isMirrored(wanted.orientation)) return std::nullopt;  // a record has no mirror image
    LensMatch m;
    m.kept = kept;
    m.sameLens = sameLens;
    m.record = turned(r, wanted.orientation);
    if (m.record.width != wanted.width || m.record.height != wanted.height) return std::nullopt;
    if (r.focal_mm > 0.0 && wanted.focal_mm > 0.0 &&
        std::abs(wanted.focal_mm / r.focal_mm - 1.0) > kZoomWithin)
        return std::nullopt;
    m.sameBody = hasSerial(r.body) && alike(r.body) == alike(wanted.body);
    payForZoom(m, wanted);
    payForFocus(m, wanted);
    if (!m.sameBody) {
        const double doubt = kOtherBody * std::max(wanted.width, wanted.height);
        widen(m.record, kPointX, doubt);
        widen(m.record, kPointY, doubt);
    }
    m.sentence = describe(m, wanted);
    return m;
}

}  // namespace

double magnificationAt(double focal_mm, double focus_m) {
    if (!(focal_mm > 0.0) || !(focus_m > 0.0) || !std::isfinite(focus_m)) return 0.0;
    const double half = focus_m * 1000.0 / focal_mm / 2.0 - 1.0;  // m² − 2·half·m + 1 = 0
    if (half < 1.0) return 0.0;
    return 1.0 / (half + std::sqrt(half * half - 1.0));
}

LensInUse lensOf(const survey::Survey& survey, const survey::Id& group, double focus_m) {
    LensInUse use;
    if (const auto* g = survey::find(survey.groups, group))
        use.body = g->body, use.lens = g->lens, use.focal_mm = g->focalLength_mm;
    for (const auto& s : survey.stations) {
        if (s.group != group) continue;
        const auto& p = s.photo;
        use.width = p.crop.fullWidth > 0 ? p.crop.fullWidth : p.width;
        use.height = p.crop.fullHeight > 0 ? p.crop.fullHeight : p.height;
        use.orientation = p.orientation;
        break;
    }
    use.focus_m = focus_m;
    return use;
}

std::vector<LensMatch> matching(const LensStore::Contents& contents, const LensInUse& wanted) {
    std::vector<LensMatch> matches;
    for (const auto& kept : contents.lenses)
        if (auto m = judge(kept, wanted)) matches.push_back(std::move(*m));
    const auto rank = [](const LensMatch& m) {
        return std::make_tuple(!m.sameLens, !m.sameBody, std::abs(m.zoomDifference),
                               m.sameFocus            ? 0.0
                               : m.focusChange != 0.0 ? std::abs(m.focusChange)
                                                      : kUnknownFocus);
    };
    std::stable_sort(matches.begin(), matches.end(),  // they come newest first
                     [&](const LensMatch& a, const LensMatch& b) { return rank(a) < rank(b); });
    return matches;
}

Result<survey::Edit> useLens(const survey::Survey& survey, const survey::Id& group,
                             const LensRecord& record) {
    const auto* g = survey::find(survey.groups, group);
    if (!g)
        return Error{ErrorCode::NotFound, "the survey has no such camera group", group, "choose another one"};
    survey::CameraGroup with = withConstants(*g, record);
    // The photographs' own words stay: they are what tells groups apart.
    with.body = g->body, with.lens = g->lens, with.focalLength_mm = g->focalLength_mm;
    survey::Edit edit;
    edit.name = "Use calibrated lens";
    edit.changes.push_back(survey::Put<survey::CameraGroup>{with});
    return edit;
}

}  // namespace trammel::calibrate
