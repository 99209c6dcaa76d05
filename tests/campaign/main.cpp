// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <cstdlib>

#include "Campaign.h"
#include "core/render/SceneFile.h"

namespace trammel::campaign {
namespace {

render::Scene sceneOrExit(const std::string& path) {
    auto scene = render::loadScene(path);
    if (!scene) {
        fmt::print(stderr, "{}\n", scene.error().sentence());
        std::exit(2);
    }
    return *scene;
}

}  // namespace

Sample::Sample(const std::string& scene)
    : observer(sceneOrExit(scene)), truth(render::truthOf(observer.scene())) {}

render::ObserveOptions marks(bool fitted, std::uint64_t seed) {
    render::ObserveOptions o;
    o.seed = seed;
    o.fitted = fitted;
    o.sigma_px = fitted ? 0.1 : 1.5;
    return o;
}

}  // namespace trammel::campaign

int main(int argc, char** argv) {
    using namespace trammel::campaign;
    CLI::App app{"Long trials on photographs and marks with known truth"};
    Settings settings;
    int code = 0;
    app.require_subcommand(1);
    const auto add = [&](const char* name, const char* help, int (*run)(const Settings&)) {
        CLI::App* sub = app.add_subcommand(name, help);
        sub->add_option("--draws", settings.draws, "Number of noise draws");
        sub->add_option("--first", settings.first, "convergence: number of the first draw")
            ->check(CLI::Range(1, 1000000));
        sub->add_option("--only", settings.only,
                        "Kinds of mistake whose name holds this; each miss is printed");
        sub->add_option("--scene", settings.scene, "Scene file");
        sub->callback([&settings, &code, run] { code = run(settings); });
    };
    add("accuracy", "Errors against truth beside two simple scalings", accuracy);
    add("coverage", "How often the printed ± covers the truth", coverage);
    add("convergence", "Whether random surveys settle in the right minimum, and unsound ones are refused",
        convergence);
    add("blunders", "Whether injected mistakes are named first", blunders);
    add("edges", "Fitted edges, holes and corners against truth and the Cramér–Rao bound", edgeFits);
    add("edges-outside", "The same pictures measured by OpenCV, and blur by the slanted-edge method",
        edgesOutside);
    add("squares", "Spacings of a real board of squares against its printed pitch", squares);
    add("real-edges", "Fitted sides and corners of real boards of squares beside cornerSubPix", realEdges);
    add("advice", "Readings as advised against random ones", advice);
    add("offers", "Marks offered from rough clicks in two photographs against the true images", offers);
    add("plan", "The ± that a plan promises against the errors of its survey", plans);
    add("handover", "Whether written files that were spoilt on their way are caught and named", handedOver);
    add("bundled", "Each dimension of the bundled survey against its truth", bundled);
    add("calibration", "Constants of a lens from boards of squares against truth", calibration);
    CLI11_PARSE(app, argc, argv);
    return code;
}
