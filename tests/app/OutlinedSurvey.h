// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include "SmallSurvey.h"

namespace trammel::test {

/// The small survey with the four corners of its lower level as outline.
struct OutlinedSurvey : SmallSurvey {
    OutlinedSurvey() {
        values().note = "Invented demo data.";
        survey::Outline o{"O1", "rim", survey::OutlinePurpose::Outline, "L1", {"F1", "F5", "F6", "F2"}};
        values().outlines = {o};
        write();
    }
};

}  // namespace trammel::test
