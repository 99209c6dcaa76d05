// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tasks/FitWork.h"

#include <cmath>

#include "core/fit/RefineSurvey.h"
#include "core/photo/Decode.h"

namespace trammel::ui {
namespace {

/// The fit looks a little to both sides of where the hand clicked; this much of the picture is cut out.
constexpr int kMargin_px = 48;

QRect neighbourhood(const FitWish& wish) {
    std::vector<Vec2> all = wish.along;
    for (const auto& p : wish.mark.points) all.push_back(p.px);
    Vec2 low = all.front(), high = all.front();
    for (const Vec2& p : all) {
        low = low.cwiseMin(p);
        high = high.cwiseMax(p);
    }
    // rim points may leave most of the rim outside their box: widen it by its own size
    if (wish.kind == survey::FeatureKind::Hole || wish.kind == survey::FeatureKind::Arc) {
        const double size = (high - low).maxCoeff();
        low.array() -= size;
        high.array() += size;
    }
    return QRect(QPoint(static_cast<int>(std::floor(low.x())), static_cast<int>(std::floor(low.y()))),
                 QPoint(static_cast<int>(std::ceil(high.x())), static_cast<int>(std::ceil(high.y()))))
        .adjusted(-kMargin_px, -kMargin_px, kMargin_px, kMargin_px);
}

photo::Image cutOut(const QImage& whole, const QRect& box) {
    photo::Image part{box.width(), box.height(), 3, {}};
    part.data.reserve(static_cast<std::size_t>(box.width()) * box.height() * 3);
    for (int y = box.top(); y <= box.bottom(); ++y) {
        const auto* line = reinterpret_cast<const QRgb*>(whole.constScanLine(y));
        for (int x = box.left(); x <= box.right(); ++x)
            for (int value : {qRed(line[x]), qGreen(line[x]), qBlue(line[x])})
                part.data.push_back(static_cast<std::uint8_t>(value));
    }
    return part;
}

photo::Image cutOut(const photo::Image& whole, const QRect& box) {
    photo::Image part{box.width(), box.height(), whole.channels, {}};
    for (int y = box.top(); y <= box.bottom(); ++y)
        part.data.insert(part.data.end(), whole.at(box.left(), y),
                         whole.at(box.left(), y) + static_cast<std::ptrdiff_t>(box.width()) * whole.channels);
    return part;
}

Result<fit::Fit> fitIn(const photo::LinearImage& light, const FitWish& wish, const Vec2& shift) {
    std::vector<Vec2> points;
    for (const auto& p : wish.mark.points) points.push_back(p.px - shift);
    switch (wish.kind) {
        case survey::FeatureKind::Edge:
            return fit::fitEdge(light, points.front(), points.back());
        case survey::FeatureKind::Hole:
            return fit::fitRim(light, points, true);
        case survey::FeatureKind::Arc:
            return fit::fitRim(light, points, false);
        case survey::FeatureKind::Corner:
            break;
    }
    if (wish.along.size() < 2)
        return Error{
            ErrorCode::Refused, "a corner is fitted from its two edges", {}, "click a point on either"};
    return fit::fitCorner(light, points.front(), wish.along[0] - shift, wish.along[1] - shift);
}

/// A corner by its edges as core finds them: all other hand marks are kept out of it, except the edges of
/// the same photograph, which may be the ones that make the corner.
Result<survey::Mark> fitCornerAlone(const FitWish& wish, const QString& path) {
    survey::Survey survey = wish.survey;
    std::erase_if(survey.marks, [&](const survey::Mark& m) {
        const auto* feature = survey::find(survey.features, m.feature);
        const bool edgeHere =
            m.station == wish.mark.station && feature && feature->kind == survey::FeatureKind::Edge;
        return m.id != wish.mark.id && !edgeHere;
    });
    for (auto& m : survey.marks) {
        if (m.id != wish.mark.id) continue;
        m.origin = survey::MarkOrigin::Hand;  // may be fitted anew
        m.excluded = false;
    }
    const auto result = fit::refine(survey, [&](const survey::Station&) { return linearPhotograph(path); });
    for (const auto& change : result.edit.changes)
        if (const auto* put = std::get_if<survey::Put<survey::Mark>>(&change);
            put && put->object.id == wish.mark.id) {
            survey::Mark mark = put->object;
            mark.excluded = wish.mark.excluded;
            return mark;
        }
    if (!result.photographs.empty()) return result.photographs.front();
    for (const auto& refusal : result.refusals)
        if (refusal.mark == wish.mark.id)
            return Error{ErrorCode::Refused, refusal.why, survey::describe(wish.survey, wish.mark.id), {}};
    return Error{
        ErrorCode::Refused, "no two edges were found", survey::describe(wish.survey, wish.mark.id), {}};
}

}  // namespace

Result<photo::LinearImage> linearPhotograph(const QString& path) {
    const auto image = photo::decode(path.toStdString());
    if (!image) return image.error();
    return photo::linearLuminance(*image);
}

Result<survey::Mark> fitMark(const FitWish& wish, const QImage& whole, const QString& path) {
    if (wish.kind == survey::FeatureKind::Corner && wish.along.empty()) return fitCornerAlone(wish, path);
    if (wish.mark.points.empty())
        return Error{ErrorCode::Refused, "the mark has no points", {}, "mark it first"};
    QRect box = neighbourhood(wish);
    photo::Image part;
    if (whole.isNull()) {
        auto decoded = photo::decode(path.toStdString());
        if (!decoded) return decoded.error();
        box &= QRect(0, 0, decoded->width, decoded->height);
        if (!box.isEmpty()) part = cutOut(*decoded, box);
    } else {
        box &= whole.rect();
        if (!box.isEmpty()) part = cutOut(whole, box);
    }
    if (part.empty())
        return Error{ErrorCode::Refused, "the mark lies outside the photograph", {}, "mark it again"};
    const Vec2 shift(box.left(), box.top());
    const auto fitted = fitIn(photo::linearLuminance(part), wish, shift);
    if (!fitted) return fitted.error();
    survey::Mark mark = wish.mark;
    mark.origin = survey::MarkOrigin::Fitted;
    mark.points.clear();
    for (const auto& p : fitted->points) mark.points.push_back({p.px + shift, p.sigma_px});
    return mark;
}

}  // namespace trammel::ui
