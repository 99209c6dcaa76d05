// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "PointNetwork.h"

/// Files of F. Krumm, Geodetic Network Adjustment Examples (Stuttgart, Rev. 3.5, 2020): networks of textbooks
/// (.dat) and the adjusted coordinates printed for them (.adj). Whatever the reader does not know throws.
namespace trammel::test {

/// What is printed for one coordinate of one point.
struct Printed {
    std::string point;
    int axis = 0;
    std::string value, shift, sigma;  ///< as written; value in m, the others in `unit`
    double unit = 0.01;               ///< m: mm for heights, cm else
};

class KrummFile {
  public:
    explicit KrummFile(const std::filesystem::path& stem)
        : name_(stem.filename().string()),
          heights_(stem.parent_path().filename() == "1D"),
          network(heights_                                ? 1
                  : stem.parent_path().filename() == "3D" ? 3
                                                          : 2) {
        readSections(stem.string() + ".dat");
        readPrinted(stem.string() + ".adj");
        // Which way angles turn is not written in the file; the data say it.
        network.fix(std::vector<bool>(count(), false));
        double misfit[2];
        for (const int turn : {1, -1}) {
            network.turn = turn;
            network.orient();
            misfit[turn < 0] = network.angularMisfit();
        }
        network.turn = misfit[0] <= misfit[1] ? 1 : -1;
        network.orient();
        setDatum();
    }

  private:
    std::string name_;
    bool heights_;

  public:
    PointNetwork network;
    std::vector<Printed> printed;

  private:
    using Words = std::vector<std::string>;
    using Kind = PointNetwork::Kind;
    static constexpr double kGon = std::numbers::pi / 200, kDegree = std::numbers::pi / 180;

    std::size_t count() const {
        return network.names().size() * static_cast<std::size_t>(network.dimensions());
    }

    static Words words(std::string line) {
        for (std::size_t at; (at = line.find("\u2212")) != std::string::npos;) line.replace(at, 3, "-");
        line.resize(std::min(line.find('%'), line.find('#')) == std::string::npos
                        ? line.size()
                        : std::min(line.find('%'), line.find('#')));
        for (char& c : line)
            if (c == ',') c = ' ';
        std::istringstream in(line);
        return {std::istream_iterator<std::string>(in), {}};
    }
    static double number(const std::string& word) {
        std::size_t used = 0;
        double value = 0.0;
        try {
            value = std::stod(word, &used);
        } catch (const std::exception&) {
            used = 0;
        }
        if (used == 0 || used != word.size()) throw std::runtime_error("\"" + word + "\" is no number");
        return value;
    }
    /// 45°12'34.5" in rad.
    static double sexagesimal(std::string word) {
        for (const std::string mark : {"°", "'", "\""})
            for (std::size_t at; (at = word.find(mark)) != std::string::npos;)
                word.replace(at, mark.size(), " ");
        std::istringstream in(word);
        double d = 0.0, m = 0.0, s = 0.0;
        if (!(in >> d >> m >> s)) throw std::runtime_error("\"" + word + "\" is no angle");
        return (d + m / 60 + s / 3600) * kDegree;
    }

    void readSections(const std::string& path) {
        std::ifstream in(path);
        if (!in) throw std::runtime_error(path + ": cannot be read");
        std::string section, line;
        while (std::getline(in, line)) {
            if (!line.empty() && line[0] == '[') {
                section = line.substr(1, line.find(']') - 1);
                last_.clear();
                continue;
            }
            const Words w = words(line);
            if (w.empty()) continue;
            try {
                take(section, w);
            } catch (const std::exception& e) {
                throw std::runtime_error(path + ": " + line + ": " + e.what());
            }
        }
    }
    void take(const std::string& section, const Words& w) {
        for (const char* ignored :
             {"Project", "Source", "Quelle", "Graphics", "Sigma0", "ApproximateOrientation"})
            if (section == ignored) return;
        if (section == "Coordinates") {
            std::vector<double> x;
            for (std::size_t i = 1; i < w.size(); ++i) x.push_back(number(w[i]));
            if (heights_) x = {x.back()};  // the plan position of a bench mark is for its drawing
            network.addPoint(w[0], x);
        } else if (section == "Datum") {
            datum_.push_back(w);
        } else if (section == "LevelledHeightDifferences") {
            last_.resize(1);
            if (w.size() > 4) last_[0] = w[4];
            put({Kind::Rise, network.point(w[0]), network.point(w[1]), 0, number(w[2]),
                 number(last_[0]) * std::sqrt(number(w.at(3)) / 1000)});
        } else if (section == "Distances" || section == "SpatialDistances") {
            if (w.size() > 3) last_ = {w.begin() + 3, w.end()};
            double variance = std::pow(number(last_.at(0)), 2);
            if (last_.size() > 1) variance += std::pow(number(last_[1]), 2) * number(w[2]);
            put({Kind::Distance, network.point(w[0]), network.point(w[1]), 0, number(w[2]),
                 std::sqrt(variance)});
        } else if (section.rfind("Angles", 0) == 0 || section.rfind("Winkel", 0) == 0) {
            angular(Kind::Angle, section, w, 3);
        } else if (section.rfind("Directions", 0) == 0) {
            angular(Kind::Direction, section, w, 2);
        } else if (section.rfind("GridBearings", 0) == 0) {
            angular(Kind::Bearing, section, w, 2);
        } else {
            throw std::runtime_error("section " + section + " is not known");
        }
    }
    void angular(Kind kind, const std::string& section, const Words& w, std::size_t points) {
        const bool degrees = section.find(",dms,s") != std::string::npos;
        if (!degrees && section.find(',') != std::string::npos) throw std::runtime_error("units not known");
        if (w.size() > points + 1) {
            last_ = {w[points + 1]};
            if (last_[0].back() == '"') last_[0].pop_back();
        }
        const double value = degrees ? sexagesimal(w[points]) : number(w[points]) * kGon;
        const double sigma = number(last_.at(0)) * (degrees ? kDegree / 3600 : kGon);
        int set = -1;
        if (kind == Kind::Direction) {
            const auto [it, added] = sets_.emplace(w[0], static_cast<int>(network.orientations.size()));
            if (added) network.orientations.push_back(0.0);
            set = it->second;
        }
        put({kind, network.point(w[0]), network.point(w[1]), points == 3 ? network.point(w[2]) : 0, value,
             sigma, set});
    }
    void put(PointNetwork::Observation o) { network.observations.push_back(std::move(o)); }

    /// "xP", or "P" in a network of heights.
    int coordinate(const std::string& word) const {
        if (heights_) return network.coordinate(network.point(word), 0);
        const int axis = word[0] - 'x';
        if (axis < 0 || axis >= network.dimensions()) throw std::runtime_error("no coordinate " + word);
        return network.coordinate(network.point(word.substr(1)), axis);
    }
    void setDatum() {
        const std::string kind = datum_.at(0).at(0);
        datum_[0].erase(datum_[0].begin());
        std::vector<bool> named(count(), false);
        if (kind == "dyn") return observed();
        for (const Words& line : datum_)
            for (const std::string& word : line) named[static_cast<std::size_t>(coordinate(word))] = true;
        if (kind == "fix")
            network.fix(named);
        else if (kind == "free")
            network.free(named);
        else
            throw std::runtime_error(name_ + ": datum " + kind + " is not known");
    }
    /// A dynamic datum: coordinates known with a standard deviation each, or with a covariance matrix.
    void observed() {
        std::vector<bool> fixed(count(), false);
        std::vector<Words> lines;
        for (const Words& line : datum_)
            if (!line.empty()) lines.push_back(line);
        const auto n = static_cast<Eigen::Index>(lines.size());
        MatX S = MatX::Zero(n, n);
        for (Eigen::Index i = 0; i < n; ++i) {
            const Words& line = lines[static_cast<std::size_t>(i)];
            if (line.size() == 2) S(i, i) = std::pow(number(line[1]), 2);
            for (Eigen::Index k = 0; line.size() > 2 && k < n; ++k)
                S(i, k) = number(line.at(static_cast<std::size_t>(k) + 1));
            if (S(i, i) == 0.0) fixed[static_cast<std::size_t>(coordinate(line[0]))] = true, S(i, i) = 1.0;
        }
        const MatX L = S.llt().matrixL();
        const MatX W = L.inverse();
        for (Eigen::Index i = 0; i < n; ++i) {
            PointNetwork::Observation o{Kind::Prior};
            o.prior.assign(count(), 0.0);
            for (Eigen::Index k = 0; k <= i; ++k)
                o.prior[static_cast<std::size_t>(coordinate(lines[static_cast<std::size_t>(k)][0]))] =
                    W(i, k);
            if (!fixed[static_cast<std::size_t>(coordinate(lines[static_cast<std::size_t>(i)][0]))]) put(o);
        }
        network.fix(fixed);
    }
    void readPrinted(const std::string& path) {
        std::ifstream in(path);
        for (std::string line; in && std::getline(in, line);) {  // some networks have no printed answer
            const Words w = words(line);
            if (w.empty()) continue;
            const auto d = static_cast<std::size_t>(network.dimensions());
            if (w.size() != 1 + 3 * d + (d > 1)) throw std::runtime_error(path + ": " + line);
            for (std::size_t k = 0; k < d; ++k)
                printed.push_back({w[0], static_cast<int>(k), w[1 + 3 * k], w[2 + 3 * k], w[3 + 3 * k],
                                   heights_ ? 0.001 : 0.01});
        }
    }

    std::vector<Words> datum_;
    std::map<std::string, int> sets_;
    Words last_;  ///< σ carried on from the line above
};

}  // namespace trammel::test
