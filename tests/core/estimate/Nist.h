// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <filesystem>
#include <functional>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "Cases.h"
#include "Dual.h"

/// Statistical Reference Datasets of the National Institute of Standards and Technology (StRD): certified
/// parameters, their standard deviations and the residual sum of squares, computed there with 500 digits.
namespace trammel::test {

struct NistSet {
    std::string name;
    std::vector<double> start1, start2, certified, deviation;  ///< per parameter
    double sumOfSquares = 0.0;
    std::vector<std::vector<double>> data;  ///< y, x...
};

/// The model y = f(b, x), or z = f(b, x) with z = ln y for Nelson.
using NistModel = std::function<Dual(const std::vector<Dual>& b, const std::vector<double>& x)>;

inline Dual polynomial(const std::vector<Dual>& b, std::size_t from, std::size_t to, double x) {
    Dual sum;
    for (std::size_t i = to; i-- > from;) sum = sum * Dual(x) + b[i];
    return sum;
}

/// a / b of two polynomials of which the lower one starts with 1.
inline NistModel rational(std::size_t upper, std::size_t lower) {
    return [=](const auto& b, const auto& x) {
        return polynomial(b, 0, upper, x[1]) /
               (Dual(1) + Dual(x[1]) * polynomial(b, upper, upper + lower, x[1]));
    };
}

inline std::map<std::string, NistModel> nistModels() {
    constexpr long double pi = 3.141592653589793238462643383279L;
    using B = const std::vector<Dual>&;
    using X = const std::vector<double>&;
    const auto waves = [](const Dual& c, const Dual& s, const Dual& period, double x) {
        const Dual a = Dual(2 * pi * x) / period;
        return c * cos(a) + s * sin(a);
    };
    std::map<std::string, NistModel> m;
    m["Norris"] = [](B b, X x) { return b[0] + b[1] * Dual(x[1]); };
    m["NoInt1"] = m["NoInt2"] = [](B b, X x) { return b[0] * Dual(x[1]); };
    m["Pontius"] = m["Wampler1"] = m["Filip"] = [](B b, X x) { return polynomial(b, 0, b.size(), x[1]); };
    for (const char* name : {"Wampler2", "Wampler3", "Wampler4", "Wampler5"}) m[name] = m["Filip"];
    m["Longley"] = [](B b, X x) {
        Dual sum = b[0];
        for (std::size_t i = 1; i < b.size(); ++i) sum = sum + b[i] * Dual(x[i]);
        return sum;
    };
    m["Bennett5"] = [](B b, X x) { return b[0] * pow(b[1] + Dual(x[1]), Dual(-1) / b[2]); };
    m["BoxBOD"] = m["Misra1a"] = [](B b, X x) { return b[0] * (Dual(1) - exp(-b[1] * Dual(x[1]))); };
    m["Chwirut1"] =
        m["Chwirut2"] = [](B b, X x) { return exp(-b[0] * Dual(x[1])) / (b[1] + b[2] * Dual(x[1])); };
    m["DanWood"] = [](B b, X x) { return b[0] * pow(Dual(x[1]), b[1]); };
    m["ENSO"] = [waves](B b, X x) {
        return b[0] + waves(b[1], b[2], Dual(12), x[1]) + waves(b[4], b[5], b[3], x[1]) +
               waves(b[7], b[8], b[6], x[1]);
    };
    m["Eckerle4"] = [](B b, X x) {
        const Dual u = (Dual(x[1]) - b[2]) / b[1];
        return b[0] / b[1] * exp(Dual(-0.5L) * u * u);
    };
    m["Gauss1"] = m["Gauss2"] = m["Gauss3"] = [](B b, X x) {
        const Dual u = (Dual(x[1]) - b[3]) / b[4], v = (Dual(x[1]) - b[6]) / b[7];
        return b[0] * exp(-b[1] * Dual(x[1])) + b[2] * exp(-u * u) + b[5] * exp(-v * v);
    };
    m["Hahn1"] = m["Thurber"] = rational(4, 3);
    m["Kirby2"] = rational(3, 2);
    m["Lanczos1"] = m["Lanczos2"] = m["Lanczos3"] = [](B b, X x) {
        return b[0] * exp(-b[1] * Dual(x[1])) + b[2] * exp(-b[3] * Dual(x[1])) +
               b[4] * exp(-b[5] * Dual(x[1]));
    };
    m["MGH09"] = [](B b, X x) {
        const Dual t(x[1]);
        return b[0] * (t * t + t * b[1]) / (t * t + t * b[2] + b[3]);
    };
    m["MGH10"] = [](B b, X x) { return b[0] * exp(b[1] / (Dual(x[1]) + b[2])); };
    m["MGH17"] = [](B b, X x) {
        return b[0] + b[1] * exp(Dual(-x[1]) * b[3]) + b[2] * exp(Dual(-x[1]) * b[4]);
    };
    m["Misra1b"] = [](B b, X x) {
        const Dual u = Dual(1) + b[1] * Dual(x[1]) / Dual(2);
        return b[0] * (Dual(1) - Dual(1) / (u * u));
    };
    m["Misra1c"] = [](B b, X x) {
        return b[0] * (Dual(1) - pow(Dual(1) + Dual(2) * b[1] * Dual(x[1]), Dual(-0.5L)));
    };
    m["Misra1d"] = [](B b, X x) { return b[0] * b[1] * Dual(x[1]) / (Dual(1) + b[1] * Dual(x[1])); };
    m["Nelson"] = [](B b, X x) { return b[0] - b[1] * Dual(x[1]) * exp(-b[2] * Dual(x[2])); };
    m["Rat42"] = [](B b, X x) { return b[0] / (Dual(1) + exp(b[1] - b[2] * Dual(x[1]))); };
    m["Rat43"] = [](B b, X x) { return b[0] / pow(Dual(1) + exp(b[1] - b[2] * Dual(x[1])), Dual(1) / b[3]); };
    m["Roszman1"] = [](B b, X x) {
        return b[0] - b[1] * Dual(x[1]) - atan(b[2] / (Dual(x[1]) - b[3])) / Dual(pi);
    };
    return m;
}

/// A set of tests/cases/nist/<name>.csv.
inline NistSet nistCase(const std::string& name) {
    const Cases file(std::string(TRAMMEL_CASES) + "/nist/" + name + ".csv");
    NistSet s;
    s.name = name;
    for (const auto& row : file.rows()) {
        const std::string& kind = row.text("row");
        if (kind == "parameter") {
            s.start1.push_back(row.number("a"));
            s.start2.push_back(row.number("b"));
            s.certified.push_back(row.number("c"));
            s.deviation.push_back(row.number("d"));
        } else if (kind == "sum of squares") {
            s.sumOfSquares = row.number("a");
        } else {
            std::vector<double> values;
            const int width = name == "Longley" ? 7 : name == "Nelson" ? 3 : 2;
            for (int i = 0; i < width; ++i)
                values.push_back(row.number(std::string(1, static_cast<char>('a' + i))));
            s.data.push_back(values);
        }
    }
    return s;
}

/// A file as the institute publishes it; the header says on which lines what stands.
inline NistSet nistFile(const std::filesystem::path& path) {
    std::ifstream in(path);
    NistSet s;
    s.name = path.stem().string();
    bool data = false, linear = false;
    for (std::string line; std::getline(in, line);) {
        std::vector<double> numbers;
        std::string words;
        std::istringstream parts(line);
        for (std::string word; parts >> word;) {
            char* end = nullptr;
            const double value = std::strtod(word.c_str(), &end);
            if (*end == '\0')
                numbers.push_back(value);
            else
                words += word + " ";
        }
        const bool parameter = words.size() >= 3 && (words[0] == 'b' || words[0] == 'B') &&
                               std::isdigit(static_cast<unsigned char>(words[1]));
        if (line.rfind("Data:", 0) == 0 && line.find('y') != std::string::npos) {
            data = line.find("Response") == std::string::npos;
        } else if (data && !numbers.empty() && words.empty()) {
            s.data.push_back(numbers);
        } else if (parameter && numbers.size() == 4) {
            s.start1.push_back(numbers[0]), s.start2.push_back(numbers[1]);
            s.certified.push_back(numbers[2]), s.deviation.push_back(numbers[3]);
        } else if (parameter && numbers.size() == 2) {  // linear sets have no start: 0 and 10 serve
            linear = true;
            s.start1.push_back(0.0), s.start2.push_back(10.0);
            s.certified.push_back(numbers[0]), s.deviation.push_back(numbers[1]);
        } else if (!linear && words.rfind("Residual Sum of Squares:", 0) == 0) {
            s.sumOfSquares = numbers.at(0);
        } else if (linear && words == "Residual " && numbers.size() == 3) {
            s.sumOfSquares = numbers[1];
        }
    }
    return s;
}

}  // namespace trammel::test
