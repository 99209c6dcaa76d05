// SPDX-License-Identifier: GPL-3.0-or-later
// Marks offered in photographs of the sample from rough clicks in two of them: on the meant edge, or refused?
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <filesystem>
#include <map>
#include <optional>

#include "Campaign.h"
#include "FitPhotographs.h"
#include "TrueImages.h"
#include "core/adjust/Adjust.h"
#include "core/adjust/Predict.h"
#include "core/fit/Propose.h"
#include "core/photo/Decode.h"

namespace trammel::campaign {
namespace {

using survey::FeatureKind;

constexpr double kClick_px = 3.0;
constexpr std::size_t kTies = 8;     ///< marks left in every other photograph, to place its camera
constexpr double kGoodShare = 0.98;  ///< of the sure offers on the meant edge

/// What came of the offers of one photograph, or of all.
struct Tally {
    int expected = 0, sure = 0, right = 0, unsure = 0, none = 0, unsureRight = 0;
    double squares = 0.0;  ///< of (distance/σ) of sure and right ones
    int points = 0;
    void add(const Tally& o) {
        expected += o.expected, sure += o.sure, right += o.right, unsure += o.unsure, none += o.none;
        unsureRight += o.unsureRight, squares += o.squares, points += o.points;
    }
};

class Judge {
  public:
    Judge(const Sample& sample, const survey::Survey& survey) : images_(sample, survey), survey_(survey) {}

    /// As TrueImages::distance; adds the points of a mark on its edge to the tally.
    double distance(const survey::Mark& mark, Tally* tally = nullptr) const {
        for (const auto& p : mark.points) {
            if (!tally) break;
            const double d = images_.distance(mark, p.px);
            if (d < kMeant_px) tally->squares += std::pow(d / p.sigma_px, 2), ++tally->points;
        }
        return images_.distance(mark);
    }

    std::string named(const survey::Id& id) const { return survey::describe(survey_, id); }

  private:
    TrueImages images_;
    const survey::Survey& survey_;
};

/// Everything clicked in two photographs, a few corners and holes in the others.
survey::Survey roughSurvey(const Sample& sample, std::uint64_t seed) {
    render::ObserveOptions o = marks(false, seed);
    o.sigma_px = kClick_px;
    survey::Survey s = sample.observer.draw(o);
    std::map<survey::Id, std::size_t> left;
    std::vector<survey::Mark> kept;
    for (const survey::Mark& m : s.marks) {
        const std::string& name = survey::find(s.stations, m.station)->name;
        const FeatureKind kind = survey::find(s.features, m.feature)->kind;
        const bool whole = name == "top" || name == "oblique A";
        // every third corner, so that the ties lie about
        const bool tie = kind == FeatureKind::Corner && (std::hash<std::string>()(m.feature) % 3) == 0;
        if (whole || (tie && left[m.station]++ < kTies)) kept.push_back(m);
    }
    s.marks = kept;
    return s;
}

Tally judge(const std::vector<fit::Offer>& offers, const Judge& judge, bool tell) {
    Tally t;
    for (const fit::Offer& o : offers) {
        ++t.expected;
        const bool right = !o.mark.points.empty() && judge.distance(o.mark) < kMeant_px;
        if (o.standing == fit::Standing::None) ++t.none;
        if (o.standing == fit::Standing::Unsure) ++t.unsure, t.unsureRight += right;
        if (o.standing != fit::Standing::Sure) continue;
        ++t.sure;
        t.right += right;
        if (right) judge.distance(o.mark, &t);
        if (tell && (!right || judge.distance(o.mark) > 4 * o.mark.points[0].sigma_px))
            fmt::print("    {}: {} in {}, {:.2f} px off, σ {:.2f} px, σ expected {:.2f} px\n",
                       right ? "off" : "wrong", judge.named(o.expected.feature), o.expected.station,
                       judge.distance(o.mark), o.mark.points[0].sigma_px, o.expected.points[0].sigma_px);
    }
    return t;
}

void print(const std::string& name, const Tally& t) {
    fmt::print(
        "  {:<12} expected {:3}   sure {:3} (on the meant edge {:3}, d/σ {:.2f})   unsure {:3} ({} right)   "
        "none {:3}\n",
        name, t.expected, t.sure, t.right, std::sqrt(t.squares / std::max(t.points, 1)), t.unsure,
        t.unsureRight, t.none);
}

/// From clicks as they are, or after they were fitted to their photographs, as `trammel fit` does first.
std::optional<double> table(const Sample& sample, const Settings& settings, bool fitted) {
    const std::filesystem::path folder = std::filesystem::path(settings.scene).parent_path();
    std::map<survey::Id, photo::LinearImage> pictures;
    const auto provider = [&](const survey::Station& st) -> Result<photo::LinearImage> {
        if (const auto it = pictures.find(st.id); it != pictures.end()) return it->second;
        auto image = photo::decode(folder / st.photo.path);
        if (!image) return image.error();
        return pictures.emplace(st.id, photo::linearLuminance(std::move(*image))).first->second;
    };
    std::map<std::string, Tally> byName;
    Tally all;
    double seconds = 0.0;  // of the processor
    for (int seed = 1; seed <= settings.draws; ++seed) {
        survey::Survey s = roughSurvey(sample, static_cast<std::uint64_t>(seed));
        if (fitted) {
            const auto done = fitToPhotographs(s, folder);
            if (!done) return fmt::print("{}\n", done.error().sentence()), std::nullopt;
            s = done->survey;
        }
        const auto solution = adjust::adjust(s);
        if (!solution) return fmt::print("draw {}: {}\n", seed, solution.error().sentence()), std::nullopt;
        for (const survey::Station& st : s.stations) {
            (void)provider(st);
            const std::clock_t begin = std::clock();
            const auto predictions = adjust::predict(*solution, s, st.id);
            const auto offered = fit::proposeMarks(s, st.id, predictions, provider);
            if (!offered) return fmt::print("{}\n", offered.error().sentence()), std::nullopt;
            seconds += static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
            const Tally t = judge(*offered, Judge(sample, s), true);
            byName[st.name].add(t);
            all.add(t);
        }
    }
    fmt::print("{:.0f} px clicks in two photographs{} and {} ties in each other, {} draws\n", kClick_px,
               fitted ? ", fitted," : "", kTies, settings.draws);
    for (const auto& [name, t] : byName)
        if (t.expected) print(name, t);
    print("all", all);
    const double share = all.sure > 0 ? static_cast<double>(all.right) / all.sure : 1.0;
    fmt::print("  {:.1f} ms an offer; {}\n", 1000.0 * seconds / std::max(all.expected, 1),
               all.sure > 0 ? fmt::format("on the meant edge: {:.2f} % of the sure ones", 100.0 * share)
                            : "none is sure");
    return share;
}

}  // namespace

int offers(const Settings& settings) {
    const Sample sample(settings.scene);
    const auto raw = table(sample, settings, false), fitted = table(sample, settings, true);
    return raw && fitted && *raw >= kGoodShare && *fitted >= kGoodShare ? 0 : 1;
}

}  // namespace trammel::campaign
