// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/handover/DxfReader.h"

#include <charconv>
#include <cmath>
#include <fstream>
#include <numbers>

#include "core/handover/DxfScan.h"

namespace trammel::handover {
namespace {

Vec2 pointAt(const DxfRecord& r, int code) { return {r.number(code), r.number(code + 10)}; }

/// Entities drawn on a plane seen from behind (extrusion 0, 0, −1) have their x turned round.
bool fromBehind(const DxfRecord& r) { return r.number(230, 1.0) < 0; }

Vec2 upright(Vec2 p, bool behind) {
    if (behind) p.x() = -p.x();
    return p;
}

void addArc(const DxfRecord& r, DxfFile& out) {
    const bool behind = fromBehind(r);
    const double deg = std::numbers::pi / 180;
    DxfArc arc{
        r.layer(), {upright(pointAt(r, 10), behind), r.number(40)}, r.number(50) * deg, r.number(51) * deg};
    if (behind) {
        const double start = std::numbers::pi - arc.end;
        arc.end = std::numbers::pi - arc.start;
        arc.start = start;
    }
    out.arcs.push_back(arc);
}

void addLightPath(const DxfRecord& r, DxfFile& out) {
    const bool behind = fromBehind(r);
    DxfPath path{r.layer(), {}, (r.integer(70) & 1) != 0};
    for (const auto& [code, value] : r.tags) {
        if (code == 10)
            path.vertices.push_back({Vec2(r.parse(value), 0), 0});
        else if (path.vertices.empty())
            continue;
        else if (code == 20)
            path.vertices.back().point.y() = r.parse(value);
        else if (code == 42)
            path.vertices.back().bulge = r.parse(value);
    }
    if (behind)
        for (auto& v : path.vertices) v = {upright(v.point, true), -v.bulge};
    out.paths.push_back(path);
}

void addDimension(const DxfRecord& r, DxfFile& out) {
    DxfDimension d;
    d.layer = r.layer();
    d.block = r.text(2);
    d.text = decodeDxf(r.text(1));
    d.type = r.integer(70) & 7;
    d.angle = r.number(50) * std::numbers::pi / 180;
    d.p10 = pointAt(r, 10), d.p13 = pointAt(r, 13), d.p14 = pointAt(r, 14), d.p15 = pointAt(r, 15);
    if (r.has(42)) d.stated = r.number(42);
    out.dimensions.push_back(d);
}

/// MTEXT longer than 250 letters comes in pieces of code 3 before the last one of code 1.
std::string wholeText(const DxfRecord& r) {
    std::string all;
    for (const auto& [code, value] : r.tags)
        if (code == 1 || (code == 3 && r.type == "MTEXT")) all += value;
    return decodeDxf(all);
}

void addEntity(const DxfRecord& r, DxfFile& out) {
    if (r.integer(67) == 1) {
        ++out.paperSpace;
        return;
    }
    ++out.counts[r.layer()][std::string(r.type)];
    if (r.type == "LINE")
        out.lines.push_back({r.layer(), pointAt(r, 10), pointAt(r, 11)});
    else if (r.type == "CIRCLE")
        out.circles.push_back({r.layer(), {upright(pointAt(r, 10), fromBehind(r)), r.number(40)}});
    else if (r.type == "ARC")
        addArc(r, out);
    else if (r.type == "LWPOLYLINE")
        addLightPath(r, out);
    else if (r.type == "DIMENSION")
        addDimension(r, out);
    else if (r.type == "TEXT" || r.type == "MTEXT")
        out.texts.push_back({r.layer(), wholeText(r)});
}

/// POLYLINE with its VERTEX entities. Meshes and curves' control points are counted, not drawn.
void addHeavyPath(const DxfRecord& head, const std::vector<DxfRecord>& vertices, DxfFile& out) {
    if (head.integer(67) == 1) {
        ++out.paperSpace;
        return;
    }
    ++out.counts[head.layer()]["POLYLINE"];
    const int flags = head.integer(70);
    if (flags & (16 | 64)) return;
    const bool behind = fromBehind(head);
    DxfPath path{head.layer(), {}, (flags & 1) != 0};
    for (const DxfRecord& v : vertices) {
        if (v.integer(70) & 16) continue;
        const double bulge = v.number(42);
        path.vertices.push_back({upright(pointAt(v, 10), behind), behind ? -bulge : bulge});
    }
    out.paths.push_back(path);
}

void readEntities(DxfScan& scan, DxfFile& out) {
    while (auto record = scan.record()) {
        if (record->type == "ENDSEC") return;
        if (record->type != "POLYLINE") {
            if (record->type != "VERTEX" && record->type != "SEQEND" && record->type != "ATTRIB")
                addEntity(*record, out);
            scan.check(*record);
            continue;
        }
        std::vector<DxfRecord> vertices;
        std::optional<DxfRecord> next;
        while ((next = scan.record()) && next->type == "VERTEX") vertices.push_back(*next);
        addHeavyPath(*record, vertices, out);
        scan.check(*record);
        for (const DxfRecord& v : vertices) scan.check(v);
        if (next && next->type != "SEQEND") scan.putBack();
    }
}

void headerVariables(const DxfRecord& section, DxfFile& out) {
    std::string name;
    geometry::Bounds box;
    bool low = false, high = false;
    for (const auto& [code, value] : section.tags) {
        if (code == 9) name = value;
        if (name == "$ACADVER" && code == 1) out.version = value;
        if (name == "$INSUNITS" && code == 70) out.insUnits = static_cast<int>(section.parse(value));
        if (name == "$MEASUREMENT" && code == 70) out.measurement = static_cast<int>(section.parse(value));
        if (name == "$EXTMIN" && code == 10) box.low.x() = section.parse(value);
        if (name == "$EXTMIN" && code == 20) box.low.y() = section.parse(value), low = true;
        if (name == "$EXTMAX" && code == 10) box.high.x() = section.parse(value);
        if (name == "$EXTMAX" && code == 20) box.high.y() = section.parse(value), high = true;
    }
    if (low && high && (box.low.array() <= box.high.array()).all()) out.extents = box;
}

}  // namespace

Result<DxfFile> parseDxf(std::string_view text, const std::string& name) {
    const auto refuse = [&](const std::string& what, const std::string& remedy) {
        return Error{ErrorCode::FileDamaged, what, name, remedy};
    };
    if (text.substr(0, 4096).find('\0') != std::string_view::npos)
        return refuse("is a binary file, not a DXF text file", "write it again as text (ASCII) DXF");
    DxfScan scan(text);
    DxfFile out;
    auto record = scan.record();
    if (!record || record->type != "SECTION")
        return refuse("is not a DXF file", "choose a file that a drawing program wrote as DXF");
    bool ended = false;
    for (; record; record = scan.record()) {
        if (record->type == "EOF") {
            ended = true;
            break;
        }
        if (record->type == "SECTION") {
            const std::string_view section = record->text(2);
            if (section == "HEADER") headerVariables(*record, out);
            scan.check(*record);
            if (section == "ENTITIES") readEntities(scan, out);
        } else if (record->type == "BLOCK") {
            out.blocks.emplace_back(record->text(2));
        }
        if (scan.failed()) break;
    }
    if (scan.failed())
        return refuse(scan.complaint(),
                      "write the file again; it may have been edited or saved with decimal commas");
    if (!ended) return refuse("is cut short: its end mark is missing", "copy or write the file again");
    return out;
}

Result<DxfFile> readDxf(const std::filesystem::path& file) {
    std::error_code problem;
    const auto size = std::filesystem::file_size(file, problem);
    if (problem || !std::filesystem::is_regular_file(file, problem))
        return Error{ErrorCode::FileMissing, "cannot be opened", file.string(), "check the name"};
    if (size > kLargestDxf)
        return Error{ErrorCode::Refused,
                     "is " + std::to_string(size >> 20) + " MiB, more than the " +
                         std::to_string(kLargestDxf >> 20) + " MiB a cut file may have",
                     file.string(), "take out what is not to be cut"};
    std::string text(size, '\0');
    std::ifstream in(file, std::ios::binary);
    if (!in.read(text.data(), static_cast<std::streamsize>(size)) && size > 0)
        return Error{ErrorCode::FileMissing, "cannot be read", file.string(),
                     "check its permissions and the disk"};
    return parseDxf(text, file.filename().string());
}

}  // namespace trammel::handover
