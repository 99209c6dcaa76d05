// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <set>
#include <vector>

#include "core/adjust/Advice.h"
#include "core/adjust/Quantity.h"

namespace trammel::adjust {

/// Every reading that is still possible, with its derivative by the unknowns. They may be a hundred thousand:
/// the gradients lie in one row behind each other.
///
/// Caliper: diameter of a hole (an arc of half a turn or more counts as one); distance between two edges
/// parallel to half a degree (as far as their ± can tell) that lie beside each other; between a corner or
/// hole and an edge that it lies beside; between two corners or holes. "Beside": to within half the depth of
/// the jaws, for they lie along the edge, which is taken to go on past its marks by a quarter of them. Ends
/// at two heights: edges with edges or points no farther apart in height than the jaws are deep, and corner
/// with corner, tip to tip; never centre to centre of holes, since the jaws then show the distance in plan
/// and not in space. Such readings are offered with twice the σ, for the beam lies on no face. The rougher
/// end sets σ. Depth rod: between two levels, or a corner free in space and the datum level. Tape: lens to
/// datum point, where the camera still stands. Protractor: two edges of one level, 2° or more apart and 4 σ
/// short of a right angle, past which the smaller angle would be the other one.
class PossibleReadings {
  public:
    PossibleReadings(const Solution& solution, const AdviceOptions& options);

    std::size_t size() const { return list_.size(); }
    AdvisedReading reading(std::size_t i) const;
    double sigma(std::size_t i) const { return list_[i].sigma; }
    estimate::Gradient gradient(std::size_t i) const;
    /// The gradient as columns and values, without a copy.
    std::size_t count(std::size_t i) const { return list_[i].end - (i == 0 ? 0 : list_[i - 1].end); }
    const int* columns(std::size_t i) const { return columns_.data() + (list_[i].end - count(i)); }
    const double* values(std::size_t i) const { return values_.data() + (list_[i].end - count(i)); }

  private:
    friend class ReadingList;
    struct Entry {
        survey::Quantity quantity;
        Instrument instrument;
        const Id *first, *second;  ///< second null where there is one object; they point into the survey
        double sigma;
        std::size_t end;  ///< of its gradient
    };
    std::vector<Entry> list_;
    std::vector<int> columns_;
    std::vector<double> values_;
};

/// Objects of references: a rule or card that lies beside the part only while it is photographed. Levels that
/// hold nothing else are among them.
std::vector<Id> besideThePart(const survey::Survey& survey);

/// What was set aside as a suspect, and what may be wrong in its place: not relied on, and worth reading
/// again.
std::set<Id> accused(const Solution& solution);

}  // namespace trammel::adjust
