// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/rules/ShopRules.h"

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace trammel::rules {
namespace {

using Json = nlohmann::json;

constexpr int kVersion = 1;
constexpr std::uintmax_t kLargest_bytes = 1 << 20;
const char* kKind = "trammel_shop_rules";

class Reader {
  public:
    Reader(const Json& j, std::string file) : json_(j), file_(std::move(file)) {}

    Result<ShopRules> read() {
        const Json version = json_.is_object() && json_.contains(kKind) ? json_[kKind] : Json();
        if (!version.is_number_integer())
            return Error{ErrorCode::FileDamaged, "holds no shop's rules", file_,
                         std::string("it begins with \"") + kKind + "\": 1; see resources/rules"};
        if (version.get<long long>() > kVersion)
            return Error{ErrorCode::FileNewer, "was written for a newer version", file_,
                         "update the program"};
        ShopRules r;
        for (const auto& [key, value] : json_.items()) {
            if (key == kKind) continue;
            if (!take(key, value, r)) return Error{code_, what_, file_, remedy_};
        }
        if (r.name.empty())
            return Error{ErrorCode::BadValue, "has no name of the shop", file_, "give it one under \"name\""};
        return r;
    }

  private:
    bool fail(ErrorCode code, const std::string& what, const std::string& remedy) {
        code_ = code, what_ = what, remedy_ = remedy;
        return false;
    }

    bool length(const std::string& key, const Json& v, double& out) {
        if (v.is_number() && std::isfinite(v.get<double>()) && v.get<double>() >= 0.0 &&
            v.get<double>() <= 1e5) {
            out = v.get<double>();
            return true;
        }
        return fail(ErrorCode::BadValue, "\"" + key + "\" is no number from 0 to 100000", "correct it");
    }

    bool text(const std::string& key, const Json& v, std::string& out) {
        if (!v.is_string())
            return fail(ErrorCode::BadValue, "\"" + key + "\" is no text", "put it in quotes");
        out = v.get<std::string>();
        return true;
    }

    bool take(const std::string& key, const Json& v, ShopRules& r) {
        if (key == "name") return text(key, v, r.name);
        if (key == "note") return text(key, v, r.note);
        if (key == "format") return format(v, r);
        if (key == "kerf") return kerf(v, r);
        if (key == "bed_mm") {
            Vec2 bed;
            if (!v.is_array() || v.size() != 2)
                return fail(ErrorCode::BadValue, "\"bed_mm\" is no pair of lengths", "write [x, y]");
            if (!length(key, v[0], bed.x()) || !length(key, v[1], bed.y())) return false;
            r.bed_mm = bed;
            return true;
        }
        const std::pair<const char*, double*> lengths[] = {
            {"smallest_hole_mm", &r.smallestHole_mm}, {"hole_per_thickness", &r.holePerThickness},
            {"smallest_web_mm", &r.smallestWeb_mm},   {"web_per_thickness", &r.webPerThickness},
            {"smallest_gap_mm", &r.smallestGap_mm},   {"smallest_piece_mm", &r.smallestPiece_mm}};
        for (const auto& [name, value] : lengths)
            if (key == name) return length(key, v, *value);
        return fail(ErrorCode::FileDamaged, "\"" + key + "\" is no rule that is known",
                    "correct its spelling; what is not understood must not be passed over");
    }

    bool format(const Json& v, ShopRules& r) {
        for (const auto& [name, f] :
             {std::pair{"dxf-r2000", Format::DxfR2000}, {"dxf-r12", Format::DxfR12}, {"svg", Format::Svg}})
            if (v == name) {
                r.format = f;
                return true;
            }
        return fail(ErrorCode::BadValue, "\"format\" is none of dxf-r2000, dxf-r12 and svg", "choose one");
    }

    bool kerf(const Json& v, ShopRules& r) {
        if (!v.is_object() || !v.contains("compensates"))
            return fail(ErrorCode::BadValue, "\"kerf\" does not say who compensates",
                        "write {\"compensates\": \"shop\"} or \"file\" with \"width_mm\"");
        for (const auto& [key, value] : v.items())
            if (key != "compensates" && key != "width_mm")
                return fail(ErrorCode::FileDamaged, "\"kerf\" has \"" + key + "\", which is not known",
                            "correct it");
        if (v["compensates"] == "shop")
            r.compensates = Compensates::Shop;
        else if (v["compensates"] == "file")
            r.compensates = Compensates::File;
        else
            return fail(ErrorCode::BadValue, "\"compensates\" is neither shop nor file", "choose one");
        if (v.contains("width_mm") && !length("width_mm", v["width_mm"], r.kerf_mm)) return false;
        if (r.compensates == Compensates::File && !(r.kerf_mm > 0.0))
            return fail(ErrorCode::BadValue, "\"kerf\" is left to the file without a width",
                        "add \"width_mm\"");
        return true;
    }

    const Json& json_;
    std::string file_, what_, remedy_;
    ErrorCode code_ = ErrorCode::BadValue;
};

}  // namespace

Result<ShopRules> rulesFromJson(const std::string& text, const std::string& name) {
    const Json j = Json::parse(text, nullptr, false);
    if (j.is_discarded())
        return Error{ErrorCode::FileDamaged, "is no JSON", name, "take one of resources/rules as a pattern"};
    return Reader(j, name).read();
}

Result<ShopRules> loadRules(const std::filesystem::path& file) {
    std::error_code failed;
    const auto size = std::filesystem::file_size(file, failed);
    std::ifstream in(file, std::ios::binary);
    if (failed || !in || std::filesystem::is_directory(file, failed))
        return Error{ErrorCode::FileMissing, "cannot be read", file.string(), "check its name"};
    if (size > kLargest_bytes)
        return Error{ErrorCode::FileDamaged, "is too large for a shop's rules", file.string(),
                     "check its name"};
    std::ostringstream all;
    all << in.rdbuf();
    return rulesFromJson(all.str(), file.string());
}

}  // namespace trammel::rules
