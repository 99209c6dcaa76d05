// SPDX-License-Identifier: GPL-3.0-or-later
// Fitted edges, holes and corners against pictures with known truth: bias, spread beside the Cramér–Rao
// bound, and whether the stated σ covers.
#include <TemporaryFolder.h>
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "Campaign.h"
#include "EdgesDraw.h"

namespace trammel::campaign {
namespace {

using namespace edges;

/// Errors of one quantity over one class of pictures.
struct Sum {
    int n = 0, covered = 0;
    double mean = 0.0, squares = 0.0, bounds = 0.0, sigmas = 0.0, ratios = 0.0;
    void add(double error, double sigma, double bound) {
        ++n;
        covered += std::abs(error) <= 2.0 * sigma;
        mean += error;
        squares += error * error;
        bounds += bound * bound;
        sigmas += sigma * sigma;
        ratios += error * error / (bound * bound);
    }
    double bias() const { return mean / std::max(n, 1); }
    double spread() const { return std::sqrt(std::max(0.0, squares / std::max(n, 1) - bias() * bias())); }
    double biasError() const { return spread() / std::sqrt(std::max(n, 1)); }
    double bound() const { return std::sqrt(bounds / std::max(n, 1)); }
    double sigma() const { return std::sqrt(sigmas / std::max(n, 1)); }
    double ratio() const { return std::sqrt(ratios / std::max(n, 1)); }
    double share() const { return 100.0 * covered / std::max(n, 1); }
};

struct Row {
    int tried = 0, refused = 0;
    std::vector<Sum> sums;
};

/// The classes a picture belongs to, in the order they are printed.
std::vector<std::string> classesOf(const Draw& d) {
    const auto pick = [](double v, std::initializer_list<double> limits, const char* format) {
        double low = *limits.begin();
        for (const double high : limits) {
            if (v < high) return fmt::format(fmt::runtime(format), low, high);
            low = high;
        }
        return std::string();
    };
    std::vector<std::string> out = {"all"};
    out.push_back(pick(d.shape.blur, {0.5, 0.8, 1.5, 2.51}, "blur {:.1f}-{:.1f} px"));
    out.push_back(pick(100.0 * d.contrast, {10, 20, 40, 80.01}, "contrast {:.0f}-{:.0f} %"));
    out.push_back(pick(100.0 * d.camera.noise, {0, 0.5, 1.5, 3.01}, "noise {:.1f}-{:.1f} %"));
    out.push_back(d.camera.quality <= 0 ? "not compressed"
                                        : pick(d.camera.quality, {75, 82, 89, 96}, "quality {:.0f}-{:.0f}"));
    out.push_back(d.camera.halved ? "colour halved" : "colour full");
    out.push_back(d.darkInside ? "second darker" : "second lighter");
    return out;
}

/// A bound of the campaign and how a table met it.
struct Bar {
    std::string what;
    double found = 0.0, limit = 0.0;
    bool holds() const { return found <= limit; }
};

class Table {
  public:
    Table(std::string name, std::vector<std::string> quantities)
        : name_(std::move(name)), quantities_(std::move(quantities)) {}

    void add(const Draw& d, const Result<Found>& found) {
        for (const std::string& c : classesOf(d)) {
            Row& row = rows_[c];
            row.sums.resize(quantities_.size());
            ++row.tried;
            if (!found) {
                ++row.refused;
                if (c == "all") ++sentences_[found.error().what];
                continue;
            }
            const VecX bound = boundOf(d);
            // Centre and corner: both coordinates in the first quantity.
            for (Eigen::Index k = 0; k < found->error.size(); ++k) {
                const std::size_t q = d.shape.kind == Kind::Hole && k == 2 ? 1 : 0;
                row.sums[q].add(found->error(k), found->sigma(k), bound(k));
            }
        }
    }

    void print() const {
        fmt::print("{}\n  {:<24}{:>6}{:>9}", name_, "", "n", "refused");
        for (const std::string& q : quantities_) fmt::print("   {:<49}", q);
        fmt::print("\n  {:<39}", "");
        for (std::size_t q = 0; q < quantities_.size(); ++q)
            fmt::print("   {:>7} {:>7} {:>7} {:>6} {:>7} {:>8}", "bias", "spread", "bound", "ratio", "sigma",
                       "covers");
        fmt::print("\n");
        for (const auto& [c, row] : rows_) {
            fmt::print("  {:<24}{:>6}{:>8.1f}%", c, row.tried, 100.0 * row.refused / row.tried);
            for (const Sum& s : row.sums)
                fmt::print("   {:7.4f} {:7.4f} {:7.4f} {:6.2f} {:7.4f} {:7.1f}%", s.bias(), s.spread(),
                           s.bound(), s.ratio(), s.sigma(), s.share());
            fmt::print("\n");
        }
        for (const auto& [what, n] : sentences_) fmt::print("    refused {:4}: {}\n", n, what);
    }

    /// Bias at most `limit`, beyond what so many draws leave to chance (2 σ).
    Bar bias(std::size_t quantity, double limit, const std::string& row = "all") const {
        const Sum& s = sum(quantity, row);
        return {"bias of " + name(quantity, row), std::abs(s.bias()), limit + 2.0 * s.biasError()};
    }
    Bar spread(std::size_t quantity, double limit, const std::string& row) const {
        const Sum& s = sum(quantity, row);
        return {"spread of " + name(quantity, row), s.spread(), limit * chance(s)};
    }
    Bar ratio(std::size_t quantity, double limit, const std::string& row) const {
        const Sum& s = sum(quantity, row);
        return {"spread over bound of " + name(quantity, row), s.ratio(), limit * chance(s)};
    }
    /// How far the coverage lies outside of 93 to 97 %, in per cent.
    Bar coverage(std::size_t quantity, double least, double most) const {
        const Sum& s = sum(quantity, "all");
        const double chance = 200.0 * std::sqrt(0.05 * 0.95 / std::max(s.n, 1));
        return {fmt::format("coverage {:.1f} % of {} outside {:g} to {:g} by", s.share(),
                            name(quantity, "all"), least, most),
                std::max({0.0, least - s.share(), s.share() - most}), chance};
    }
    Bar refusals(double share) const {
        const Row& r = rows_.at("all");
        return {"share refused, " + name_, static_cast<double>(r.refused) / r.tried,
                share + 2.0 * std::sqrt(share / r.tried)};
    }

  private:
    static double chance(const Sum& s) { return 1.0 + 2.0 / std::sqrt(2.0 * std::max(s.n, 1)); }
    std::string name(std::size_t quantity, const std::string& row) const {
        return fmt::format("{}, {} ({})", name_, quantities_[quantity], row);
    }
    const Sum& sum(std::size_t quantity, const std::string& row) const {
        static const Sum none;
        const auto at = rows_.find(row);
        return at == rows_.end() || at->second.sums.empty() ? none : at->second.sums[quantity];
    }

    std::string name_;
    std::vector<std::string> quantities_;
    std::map<std::string, Row> rows_;
    std::map<std::string, int> sentences_;
};

Table run(const std::string& name, const DrawOptions& o, int draws, unsigned seed) {
    const test::TemporaryFolder scratch;
    std::mt19937 random(seed);
    Table table(name, o.kind == Kind::Hole ? std::vector<std::string>{"centre", "diameter"}
                                           : std::vector<std::string>{"place"});
    for (int k = 0; k < draws; ++k) {
        const Draw d = draw(random, o, scratch.path());
        table.add(d, fitted(d));
    }
    table.print();
    return table;
}

/// 8 bits without JPEG: here the Cramér–Rao bound is one, as long as noise dithers the rounding.
void uncompressed(const Settings& settings, std::vector<Bar>& bars) {
    DrawOptions o;
    o.lowestQuality = o.highestQuality = 0;
    o.halved = false;
    const char* rows[2] = {"noise 0.5-1.5 %", "noise 1.5-3.0 %"};
    const Table edge = run("edge of 200 px, not compressed (px, + to the light)", o, settings.draws, 1);
    o.kind = Kind::Hole;
    const Table hole = run("hole of 20 px, not compressed (px)", o, settings.draws, 2);
    o.kind = Kind::Corner;
    const Table corner = run("corner, not compressed (px)", o, settings.draws, 3);
    bars.push_back(edge.bias(0, 0.005));
    bars.push_back(hole.bias(0, 0.005));
    bars.push_back(hole.bias(1, 0.02));
    bars.push_back(corner.bias(0, 0.02));
    for (const char* row : rows) {
        bars.push_back(edge.ratio(0, 1.5, row));
        bars.push_back(hole.ratio(0, 1.5, row));
        bars.push_back(hole.ratio(1, 1.5, row));
    }
    bars.push_back(edge.spread(0, 0.01, "noise 0.0-0.5 %"));
    bars.push_back(edge.coverage(0, 93, 97));
    bars.push_back(hole.coverage(0, 93, 100));
    bars.push_back(hole.coverage(1, 93, 100));
    bars.push_back(corner.coverage(0, 93, 100));
}

/// As cameras store them. What JPEG rounds away is lost: the bound is that of the picture before.
void compressed(const Settings& settings, std::vector<Bar>& bars) {
    DrawOptions o;
    const Table edge = run("edge of 200 px, JPEG (px, + to the light)", o, settings.draws, 4);
    o.kind = Kind::Hole;
    const Table hole = run("hole of 20 px, JPEG (px)", o, settings.draws, 5);
    o.kind = Kind::Corner;
    const Table corner = run("corner, JPEG (px)", o, settings.draws, 6);
    bars.push_back(edge.bias(0, 0.02));
    bars.push_back(edge.coverage(0, 93, 97));
    bars.push_back(hole.coverage(0, 93, 100));
    bars.push_back(hole.coverage(1, 93, 100));
    bars.push_back(corner.coverage(0, 93, 100));
    bars.push_back(corner.spread(0, 0.05, "contrast 40-80 %"));
    bars.push_back(edge.refusals(0.02));
    bars.push_back(hole.bias(0, 0.03));
    bars.push_back(hole.bias(1, 0.05));
    bars.push_back(hole.bias(1, 0.05, "second darker"));
    bars.push_back(hole.bias(1, 0.05, "second lighter"));
    bars.push_back(corner.bias(0, 0.05));
}

}  // namespace

int edgeFits(const Settings& settings) {
    std::vector<Bar> bars;
    uncompressed(settings, bars);
    compressed(settings, bars);
    bool good = true;
    for (const Bar& b : bars) {
        fmt::print("  {} {}: {:.4f}, at most {:.4f}\n", b.holds() ? "holds " : "FAILED", b.what, b.found,
                   b.limit);
        good = good && b.holds();
    }
    return good ? 0 : 1;
}

}  // namespace trammel::campaign
