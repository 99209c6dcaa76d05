// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "Shapes.h"
#include "core/adjust/Influence.h"
#include "core/adjust/Solution.h"
#include "core/render/Random.h"

/// Mistakes as people make them, put into surveys with known truth.
namespace trammel::campaign {

enum class Mistake {
    FiveSigma,          ///< one observation off by five of its σ
    Large,              ///< one off by 20 to 1000 σ
    TwoAtOnce,          ///< two off by 5 to 50 σ
    WrongTie,           ///< a mark placed on the nearest other feature of its kind in the photograph
    SwappedTies,        ///< two marks of one photograph exchanged
    Mirrored,           ///< a photograph flipped
    WrongView,          ///< a principal view given another
    Inches,             ///< a reading typed in inches
    DecimalPoint,       ///< a reading ten times too large or small
    RadiusForDiameter,  ///< half the diameter
    ExchangedDigits,    ///< two neighbouring digits of a reading
    OtherCopy,          ///< a photograph of another copy of the part: every mark off at random by 10 σ
};
inline constexpr int kMistakes = 12;
const char* mistakeName(Mistake mistake);

/// What was put in, and what a perfect judge could make of it.
struct Spoilt {
    survey::Survey survey;
    std::vector<survey::Id> guilty;
    adjust::Cause cause = adjust::Cause::Unknown;
    /// Chance that the test of this observation alone (α 0.001, block of all its components) notices it.
    double power = 1.0;
    double redundancy = 1.0;  ///< of the error's own direction, 0..1
    /// Another observation explains it so nearly as well that 20 to 1 is not expected against that one.
    bool undecidable = false;
};

/// A sound survey with the redundancy of each observation, at the truth.
class Sound {
  public:
    static std::optional<Sound> make(Drawn drawn);
    const survey::Survey& survey() const { return drawn_->survey; }
    /// Puts the mistake into a well-controlled observation: each component of redundancy 0.3 or more. Nothing
    /// when there is no such one.
    std::optional<Spoilt> spoil(Mistake mistake, render::Random& random) const;

  private:
    bool controlled(int owner) const;
    std::vector<int> owners(bool marks, bool readings) const;
    bool addOff(const std::vector<int>& all, double sigmas, render::Random& random, Spoilt& out) const;
    void offBy(int owner, double sigmas, render::Random& random, Spoilt& out) const;
    void weigh(int owner, Spoilt& out) const;
    bool tie(bool swap, render::Random& random, Spoilt& out) const;
    bool photograph(Mistake mistake, render::Random& random, Spoilt& out) const;
    bool reading(Mistake mistake, render::Random& random, Spoilt& out) const;

    std::shared_ptr<Drawn> drawn_;
    std::shared_ptr<adjust::Network> network_;
    std::shared_ptr<estimate::CovarianceFactor> covariance_;
    std::shared_ptr<adjust::Influence> influence_;
};

}  // namespace trammel::campaign
