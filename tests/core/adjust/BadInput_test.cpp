// SPDX-License-Identifier: GPL-3.0-or-later
// Whatever a survey holds ends in one sentence that names an object, or in finite figures; soon, and with the
// survey as it was.
#include <chrono>
#include <set>

#include "Mutator.h"
#include "Sample.h"
#include "SmallSurvey.h"
#include "core/survey/Check.h"

using namespace trammel;
using trammel::test::Field;
using trammel::test::Mutator;
using trammel::test::SmallSurvey;

namespace {

void checkSentence(const Error& e) {
    INFO(e.sentence());
    CHECK_FALSE(e.what.empty());
    CHECK_FALSE(e.object.empty());
    CHECK_FALSE(e.remedy.empty());
    CHECK(e.sentence().find('\n') == std::string::npos);
    CHECK(e.sentence().find("..") == std::string::npos);
    CHECK(e.sentence().size() < 400);
}

void checkFinite(const adjust::Solution& solution) {
    for (const auto& [id, f] : solution.features) {
        INFO(id);
        CHECK((f.point.allFinite() && f.direction.allFinite() && std::isfinite(f.radius)));
    }
    for (const auto& [id, z] : solution.levels) CHECK(std::isfinite(z));
    for (const auto& d : solution.dimensions) CHECK((std::isfinite(d.value) && std::isfinite(d.plusMinus)));
    CHECK(std::isfinite(solution.global.varianceFactor));
}

/// Adjusts, and holds the result to the rule above. What came out, for further questions.
Result<adjust::Solution> judged(const survey::Survey& s) {
    const survey::Survey before = s;
    const bool comparable = before == before;  // a NaN equals nothing
    const auto start = std::chrono::steady_clock::now();
    auto solution = adjust::adjust(s);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    CHECK(took.count() < 30.0);  // generous: sanitizers, busy machines
    if (comparable) CHECK(s == before);
    if (solution)
        checkFinite(*solution);
    else
        checkSentence(solution.error());
    return solution;
}

/// The numbers of one mark of each kind, and all that stand elsewhere.
std::vector<std::size_t> chosenFields(survey::Survey& s) {
    std::vector<std::size_t> out;
    std::set<survey::FeatureKind> seen;
    survey::Id mark;
    const std::vector<Field> fields = test::fieldsOf(s);
    for (std::size_t i = 0; i < fields.size(); ++i) {
        const survey::Mark* m = find(s.marks, fields[i].object);
        if (m && m->id != mark && seen.insert(find(s.features, m->feature)->kind).second) mark = m->id;
        if (!m || m->id == mark) out.push_back(i);
    }
    return out;
}

}  // namespace

TEST_CASE("every number of a survey, spoiled by every bad value") {
    SmallSurvey small(1.5);
    survey::Survey s = small.survey();
    s.dimensions.push_back({"D1", "width", survey::Quantity::Distance, {"F1", "F4"}, false, 0.1});
    REQUIRE(judged(s));
    for (const std::size_t i : chosenFields(s))
        for (const double bad : test::badValues()) {
            survey::Survey spoiled = s;
            const Field field = test::fieldsOf(spoiled)[i];
            *field.value = bad;
            CAPTURE(field.name, field.object, bad);
            const auto solution = judged(spoiled);
            if (!std::isfinite(bad)) {
                // Only a σ that nothing uses may be forgiven.
                if (field.name != "σ of constant") REQUIRE_FALSE(solution);
                if (!solution) {
                    CHECK(solution.error().code == ErrorCode::BadValue);
                    CHECK(solution.error().object == describe(spoiled, field.object));
                }
            }
            const bool weight = field.name == "mark σ" || field.name == "reading σ";
            if (weight && !(bad > 0.0)) REQUIRE_FALSE(solution);
        }
}

TEST_CASE("random changes of a small survey") {
    const SmallSurvey small(1.5);
    std::map<std::string, int> codes;
    for (unsigned seed = 1; seed <= 2000; ++seed) {
        Mutator mutator(seed);
        survey::Survey s = small.survey();
        std::string done;
        for (unsigned n = 0; n <= seed % 3; ++n) done += mutator.spoil(s) + " ";
        CAPTURE(seed, done);
        const auto solution = judged(s);
        ++codes[solution ? "adjusted" : std::to_string(static_cast<int>(solution.error().code))];
    }
    CHECK(codes["adjusted"] > 200);
    CHECK(codes.size() > 4);
}

TEST_CASE("random changes of the sample survey") {
    const survey::Survey sample = test::draw(false, 1);
    for (unsigned seed = 1; seed <= 2000; ++seed) {
        Mutator mutator(seed);
        survey::Survey s = sample;
        std::string done;
        for (unsigned n = 0; n <= seed % 3; ++n) done += mutator.spoil(s) + " ";
        CAPTURE(seed, done);
        for (const Error& e : survey::check(s)) checkSentence(e);
        if (seed % 100 == 0) (void)judged(s);
    }
}
