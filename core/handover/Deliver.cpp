// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/Deliver.h"

#include <cmath>
#include <utility>

#include "core/adjust/Report.h"
#include "core/handover/CheckSheet.h"
#include "core/handover/CheckSheetPage.h"
#include "core/handover/Compare.h"
#include "core/handover/SvgWriter.h"
#include "core/handover/Table.h"
#include "core/photo/Decode.h"
#include "core/sheet/WriteSheet.h"
#include "core/storage/FileSet.h"

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

struct ReadBack {
    DxfFile file;
    std::string sha256;
};

/// Written beside its place, read from the disk and compared, before it gets its name.
Result<ReadBack> stageDxf(const drawing::Drawing& drawing, DxfVersion version,
                          const std::filesystem::path& file, storage::FileSet& set) {
    const auto text = dxfText(drawing, version);
    if (!text) return text.error();
    const auto lies = set.stage(file, *text);
    if (!lies) return lies.error();
    const auto read = readDxf(*lies);
    const auto hash = photo::contentHash(*lies);
    const auto different =
        read && hash ? differences(drawing, *read) : std::vector<std::string>{"it cannot be read"};
    if (different.empty()) return ReadBack{*read, *hash};
    return Error{ErrorCode::WriteFailed, "the file read back differs from the drawing: " + different.front(),
                 file.string(), "nothing was replaced; check the disk and repeat"};
}

}  // namespace

Result<drawing::Drawing> drawingOf(const survey::Survey& survey, const adjust::Solution& solution,
                                   const Terms& terms) {
    drawing::Options options;
    options.face = terms.face;
    options.revision = terms.revision;
    options.chain.plusMinus = plusMinusOf(solution);
    options.holes = terms.holes;
    options.kerf = terms.kerf;
    options.clearance_mm = terms.clearance_mm;
    options.nominal_mm = terms.nominal_mm;
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
    storage::FileSet set;
    const auto read = stageDxf(drawing, version, file, set);
    if (!read) return read.error();
    if (const auto done = set.commit(); !done) return done.error();
    return inspect(read->file, file.filename().string());
}

Result<Delivered> deliverSet(const drawing::Drawing& drawing, const Terms& terms,
                             const std::filesystem::path& folder, const std::string& stem, CheckSheet& check,
                             storage::Disk& disk) {
    // The unit and the face stand in the name: the file may travel without its header's reader or its text.
    const std::string name = stem + (terms.face == drawing::Face::Top ? "-top-mm" : "-bottom-mm");
    const Delivered to{folder / (name + ".dxf"),         folder / (name + ".svg"),
                       folder / "dimensions.csv",        folder / (name + "-check.pdf"),
                       folder / (name + "-check.txt"),   folder / (name + "-check.json"),
                       folder / (name + "-template.pdf")};
    storage::FileSet set(disk);
    const auto read = stageDxf(drawing, terms.version, to.dxf, set);
    if (!read) return read.error();
    check = checkSheet(read->file, to.dxf.filename().string(), read->sha256);
    check.compared = true;
    const auto svg = svgText(drawing);
    if (!svg) return svg.error();
    const auto page = sheet::pdf(checkPages(check), "Check sheet of " + name);
    if (!page) return page.error();
    const auto pages = templatePages(drawing, terms.pages);
    if (!pages) return pages.error();
    const auto printed = sheet::pdf(*pages, "Template of " + name);
    if (!printed) return printed.error();
    const std::pair<std::filesystem::path, std::string> files[] = {
        {to.svg, *svg},       {to.table, dimensionsCsv(drawing)}, {to.checkPage, *page},
        {to.pages, *printed}, {to.checkText, checkText(check)},   {to.checkJson, checkJson(check) + "\n"}};
    for (const auto& [file, bytes] : files)
        if (const auto staged = set.stage(file, bytes); !staged) return staged.error();
    if (const auto done = set.commit(); !done) return done.error();
    return to;
}

}  // namespace trammel::handover
