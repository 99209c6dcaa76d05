// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Deliver.h"

#include <cmath>
#include <system_error>

#include "core/adjust/Report.h"
#include "core/handover/Compare.h"
#include "core/storage/Disk.h"

namespace trammel::handover {
namespace {

/// ± of any quantity where the adjustment kept its covariance.
drawing::PlusMinusOf plusMinusOf(const adjust::Solution& solution) {
    if (!solution.covariance) return {};
    return [&solution](const survey::Dimension& d) -> std::optional<double> {
        const auto r = solution.measure(d);
        if (!r || !std::isfinite(r->plusMinus)) return std::nullopt;
        return r->plusMinus;
    };
}

}  // namespace

Result<drawing::Drawing> drawingOf(const survey::Survey& survey, const adjust::Solution& solution,
                                   const Terms& terms) {
    drawing::Options options;
    options.face = terms.face;
    options.revision = terms.revision;
    options.chain.plusMinus = plusMinusOf(solution);
    if (!adjust::agrees(solution)) {
        std::string s = "DO NOT CUT: the survey disagreed with itself when this was written";
        if (!solution.suspects.empty()) s += ": " + solution.suspects.front().sentence;
        if (s.back() == '.') s.pop_back();
        options.remarks.push_back(s);
    }
    return drawing::build(survey, solution, options);
}

Result<Contents> deliver(const drawing::Drawing& drawing, DxfVersion version,
                         const std::filesystem::path& file) {
    const auto text = dxfText(drawing, version);
    if (!text) return text.error();
    if (const auto done = storage::writeWhole(file, *text); !done) return done.error();
    const auto read = readDxf(file);
    const auto different = read ? differences(drawing, *read) : std::vector<std::string>{"it cannot be read"};
    if (different.empty()) return inspect(*read, file.filename().string());
    std::error_code failed;
    std::filesystem::remove(file, failed);
    return Error{ErrorCode::WriteFailed, "the file read back differs from the drawing: " + different.front(),
                 file.string(),
                 failed ? "it could not be taken away again: do not cut from it, check the disk and repeat"
                        : "it was taken away again; check the disk and repeat"};
}

}  // namespace trammel::handover
