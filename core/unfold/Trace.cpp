// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/unfold/Trace.h"

#include <algorithm>
#include <cmath>

#include "core/adjust/Covariance.h"
#include "core/adjust/Gradient.h"
#include "core/math/Rotation.h"

namespace trammel::unfold {
namespace {

using survey::FeatureKind;
using Role = Trace::Role;
constexpr double kSquare = 0.035;  ///< sine of 2°

class Tracer {
  public:
    Tracer(const adjust::Solution& solution, const Placed& feature, double turn)
        : feature_(feature), back_(rotationExp(Vec3(0.0, 0.0, turn))) {
        covariance_ = solution.covariance.get();
        if (!covariance_) return;
        const auto& features = covariance_->survey().features;
        for (std::size_t i = 0; i < features.size(); ++i)
            if (features[i].id == feature.feature) index_ = static_cast<int>(i);
    }

    std::vector<Trace> all() {
        for (int axis = 0; axis < 3; ++axis) one(axis);
        return std::move(out_);
    }

  private:
    Vec3 own(const Vec3& part) const { return back_.transpose() * part; }
    Vec3 direction(int axis) const { return back_ * Vec3::Unit(axis); }

    void one(int axis) {
        const auto point = [&](Role role) {
            out_.push_back({own(feature_.point), axis, role, sigma(axis, {})});
        };
        switch (feature_.kind) {
            case FeatureKind::Corner:
                return point(Role::Line);
            case FeatureKind::Edge:
                if (std::abs(feature_.direction.dot(direction(axis))) < kSquare) return point(Role::Line);
                return ends(axis);
            case FeatureKind::Hole:
                point(Role::Centre);
                return axis < 2 && isFlat() ? rim(axis) : reach(axis);
            case FeatureKind::Arc:
                point(Role::Centre);
                return axis < 2 ? ends(axis) : void();
            case FeatureKind::Slot:
                point(Role::Centre);
                return reach(axis);
            case FeatureKind::Curve:
                return axis < 2 ? reach(axis) : point(Role::Line);
        }
    }

    bool isFlat() const { return !feature_.level.empty(); }

    /// Where the rim turns back along the axis.
    void rim(int axis) {
        const Vec3 e = direction(axis);
        for (const double sign : {-1.0, 1.0}) {
            const Vec3 at = feature_.point + sign * feature_.radius * e;
            out_.push_back({own(at), axis, Role::Line, sigma(axis, std::atan2(sign * e.y(), sign * e.x()))});
        }
    }

    void ends(int axis) {
        if (feature_.line.empty()) return;
        for (const Vec3& p : {feature_.line.front(), feature_.line.back()})
            out_.push_back({own(p), axis, Role::End, std::nullopt});
    }

    /// The two places farthest apart along the axis.
    void reach(int axis) {
        if (feature_.line.empty()) return;
        const Vec3 e = direction(axis);
        const auto [low, high] =
            std::ranges::minmax_element(feature_.line, {}, [&](const Vec3& p) { return p.dot(e); });
        if ((*high - *low).dot(e) < 1e-6) return;  // lies square to the axis: its point says all
        for (const Vec3& p : {*low, *high}) out_.push_back({own(p), axis, Role::End, std::nullopt});
    }

    std::optional<double> sigma(int axis, std::optional<double> tau) const {
        if (!covariance_ || index_ < 0) return std::nullopt;
        adjust::GradientBuilder builder(covariance_->state(), covariance_->columns());
        if (tau)
            builder.addAt(index_, *tau, direction(axis));
        else
            builder.addPoint(index_, direction(axis));
        return covariance_->sigma(builder.out.gradient);
    }

    const Placed& feature_;
    Mat3 back_;
    const adjust::Covariance* covariance_ = nullptr;
    int index_ = -1;
    std::vector<Trace> out_;
};

}  // namespace

std::vector<Trace> tracesOf(const adjust::Solution& solution, const Placed& feature, double turn) {
    return Tracer(solution, feature, turn).all();
}

}  // namespace trammel::unfold
