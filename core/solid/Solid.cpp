// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/solid/Solid.h"

#include <fmt/core.h>
#include <unistd.h>

#include <APIHeaderSection_MakeHeader.hxx>
#include <BRepAlgoAPI_Fuse.hxx>
#include <BRepBuilderAPI_MakeEdge.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepBuilderAPI_MakeWire.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepGProp.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRepPrimAPI_MakePrism.hxx>
#include <BRep_Builder.hxx>
#include <BRep_Tool.hxx>
#include <GC_MakeArcOfCircle.hxx>
#include <GProp_GProps.hxx>
#include <Interface_Static.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <Message_PrinterOStream.hxx>
#include <STEPControl_Reader.hxx>
#include <STEPControl_Writer.hxx>
#include <ShapeUpgrade_UnifySameDomain.hxx>
#include <Standard_Failure.hxx>
#include <StepData_StepModel.hxx>
#include <StlAPI_Writer.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Compound.hxx>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <gp_Circ.hxx>
#include <sstream>

#include "core/geometry/Piece.h"

namespace trammel::solid {
namespace {

using drawing::Prism;

constexpr double kVolume = 1e-6;  // relative, of what is read back

Error wrong(const std::string& what, ErrorCode code = ErrorCode::WriteFailed) {
    return {code, what, "solid", "nothing was written; look at the outlines with trammel drawing"};
}

gp_Pnt at(const Vec2& p, double z) { return {p.x(), p.y(), z}; }

TopoDS_Wire wireOf(const geometry::Chain& chain, double z) {
    BRepBuilderAPI_MakeWire wire;
    for (const geometry::Piece& p : pieces(chain)) {
        if (!p.isArc()) {
            wire.Add(BRepBuilderAPI_MakeEdge(at(p.from, z), at(p.to, z)).Edge());
            continue;
        }
        const GC_MakeArcOfCircle arc(at(p.from, z), at(p.middle(), z), at(p.to, z));
        wire.Add(BRepBuilderAPI_MakeEdge(arc.Value()).Edge());
    }
    return wire.Wire();
}

TopoDS_Shape bodyOf(const Prism& p) {
    BRepBuilderAPI_MakeFace face(wireOf(p.outer, p.low), true);
    for (const auto& c : p.openings) face.Add(wireOf(c, p.low));
    for (const auto& h : p.holes) {
        const gp_Circ rim(gp_Ax2(at(h.circle.centre, p.low), gp_Dir(0, 0, 1)), h.circle.radius);
        const TopoDS_Wire wire = BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(rim).Edge()).Wire();
        face.Add(TopoDS::Wire(wire.Reversed()));
    }
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, p.height())).Shape();
}

double volumeOf(const TopoDS_Shape& shape) {
    GProp_GProps properties;
    BRepGProp::VolumeProperties(shape, properties, 1e-9);
    return properties.Mass();
}

int count(const TopoDS_Shape& shape, TopAbs_ShapeEnum kind) {
    int n = 0;
    for (TopExp_Explorer e(shape, kind); e.More(); e.Next()) ++n;
    return n;
}

bool soundAndClosed(const TopoDS_Shape& shape) {
    if (count(shape, TopAbs_SOLID) == 0 || !BRepCheck_Analyzer(shape).IsValid()) return false;
    for (TopExp_Explorer e(shape, TopAbs_SHELL); e.More(); e.Next())
        if (!BRep_Tool::IsClosed(e.Current())) return false;
    return true;
}

TopoDS_Shape together(const std::vector<TopoDS_Shape>& bodies) {
    BRep_Builder builder;
    TopoDS_Compound compound;
    builder.MakeCompound(compound);
    for (const TopoDS_Shape& b : bodies) builder.Add(compound, b);
    return compound;
}

/// One body where they touch. A fusion that loses or gains volume is not taken.
TopoDS_Shape fused(const std::vector<TopoDS_Shape>& bodies, Solid& out) {
    if (bodies.size() == 1) return bodies.front();
    BRepAlgoAPI_Fuse fuse;
    TopTools_ListOfShape first, others;
    first.Append(bodies.front());
    for (std::size_t i = 1; i < bodies.size(); ++i) others.Append(bodies[i]);
    fuse.SetArguments(first);
    fuse.SetTools(others);
    fuse.Build();
    if (fuse.IsDone()) {
        ShapeUpgrade_UnifySameDomain unify(fuse.Shape());
        unify.Build();
        const TopoDS_Shape shape = unify.Shape();
        if (soundAndClosed(shape) &&
            std::abs(volumeOf(shape) - out.expected_mm3) <= kVolume * out.expected_mm3)
            return shape;
    }
    out.remarks.push_back(
        "the levels are bodies of their own: they could not be joined without a change of volume");
    return together(bodies);
}

/// A file of its own that is gone with it.
class Aside {
  public:
    explicit Aside(const char* ending) {
        path_ = (std::filesystem::temp_directory_path() / "trammel-XXXXXX").string() + ending;
        const int file = mkstemps(path_.data(), static_cast<int>(std::string(ending).size()));
        if (file < 0)
            path_.clear();
        else
            close(file);
    }
    ~Aside() {
        std::error_code ignored;
        if (!path_.empty()) std::filesystem::remove(path_, ignored);
    }
    Aside(const Aside&) = delete;
    Aside& operator=(const Aside&) = delete;
    const std::string& path() const { return path_; }
    std::string bytes() const {
        std::ifstream in(path_, std::ios::binary);
        std::ostringstream all;
        all << in.rdbuf();
        return all.str();
    }

  private:
    std::string path_;
};

/// What ISO 10303-21 takes without escapes.
std::string plain(const std::string& title) {
    std::string out;
    for (const char c : title)
        if (c >= ' ' && c <= '~' && c != '\'' && c != '\\') out += c;
    return out.empty() ? "part" : out;
}

Result<void> writeStep(const TopoDS_Shape& shape, const std::string& title, Solid& out) {
    const Aside file(".step");
    STEPControl_Writer writer;
    Interface_Static::SetCVal("write.step.unit", "MM");
    const std::string name = plain(title);
    Interface_Static::SetCVal("write.step.product.name", name.c_str());
    if (file.path().empty() || writer.Transfer(shape, STEPControl_AsIs) != IFSelect_RetDone)
        return wrong("could not be written as STEP");
    APIHeaderSection_MakeHeader header(writer.Model());
    header.SetName(new TCollection_HAsciiString(name.c_str()));
    header.SetAuthorValue(1, new TCollection_HAsciiString(""));
    header.SetOrganizationValue(1, new TCollection_HAsciiString(""));
    header.SetOriginatingSystem(new TCollection_HAsciiString("Trammel"));
    if (writer.Write(file.path().c_str()) != IFSelect_RetDone) return wrong("could not be written as STEP");
    STEPControl_Reader reader;
    if (reader.ReadFile(file.path().c_str()) != IFSelect_RetDone || reader.TransferRoots() < 1)
        return wrong("written as STEP cannot be read back");
    const TopoDS_Shape back = reader.OneShape();
    if (!soundAndClosed(back)) return wrong("read back from STEP is no valid closed solid");
    out.solids = count(back, TopAbs_SOLID);
    out.volume_mm3 = volumeOf(back);
    if (!(std::abs(out.volume_mm3 - out.expected_mm3) <= kVolume * out.expected_mm3))
        return wrong(
            fmt::format("read back from STEP has {} mm³ in place of {}", out.volume_mm3, out.expected_mm3));
    out.bytes = file.bytes();
    return {};
}

Result<void> writeStl(const TopoDS_Shape& shape, double wall_mm2, Solid& out) {
    const Aside file(".stl");
    const BRepMesh_IncrementalMesh mesh(shape, kSagitta_mm, false, 0.2);
    StlAPI_Writer writer;
    writer.ASCIIMode() = false;
    if (file.path().empty() || !writer.Write(shape, file.path().c_str()))
        return wrong("could not be written as STL");
    out.bytes = file.bytes();
    const auto volume = closedVolume(out.bytes);
    if (!volume) return wrong("read back from STL is not closed");
    out.volume_mm3 = *volume;
    if (!(std::abs(out.volume_mm3 - out.expected_mm3) <= kSagitta_mm * wall_mm2 + kVolume * out.expected_mm3))
        return wrong(
            fmt::format("read back from STL has {} mm³ in place of {}", out.volume_mm3, out.expected_mm3));
    return {};
}

}  // namespace

Result<Solid> solidOf(const drawing::Envelope& envelope, const std::string& title, Format format) {
    Message::DefaultMessenger()->RemovePrinters(STANDARD_TYPE(Message_PrinterOStream));
    Solid out;
    double wall = 0.0;
    try {
        std::vector<TopoDS_Shape> bodies;
        for (const Prism& p : envelope.prisms) {
            if (p.purpose == survey::OutlinePurpose::KeepOut) continue;
            if (!p.footKnown || !(p.height() > 1e-6))
                return Error{ErrorCode::NotFound, "has no thickness", "outline " + p.name,
                             "state it, or mark a feature of the face below it"};
            out.expected_mm3 += p.area() * p.height();
            double around = perimeter(p.outer);
            for (const auto& c : p.openings) around += perimeter(c);
            for (const auto& h : p.holes) around += 2 * 3.141592653589793 * h.circle.radius;
            wall += around * p.height();
            bodies.push_back(bodyOf(p));
        }
        if (bodies.empty())
            return Error{ErrorCode::NotFound, "the survey has no outline", "solid",
                         "put features into an outline"};
        const TopoDS_Shape shape = fused(bodies, out);
        const auto done = format == Format::Step ? writeStep(shape, title, out) : writeStl(shape, wall, out);
        if (!done) return done.error();
    } catch (const Standard_Failure& failure) {
        return wrong(std::string("could not be made (") + failure.GetMessageString() + ")");
    }
    return out;
}

}  // namespace trammel::solid
