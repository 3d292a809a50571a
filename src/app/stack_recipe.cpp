#include "app/stack_recipe.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/recipe.h"

namespace lull::app {

nlohmann::json recipe_options(const StackCommandOptions& options) {
  nlohmann::json out = to_json(options.look);
  out.update({{"capture", options.input.capture},
              {"dark", options.input.dark},
              {"flat", options.input.flat},
              {"flat_dark", options.input.flat_dark},
              {"cfa", options.input.cfa},
              {"byte_order", options.input.byte_order},
              {"pixel_format", options.input.pixel_format},
              {"pattern_noise", options.input.pattern_noise},
              {"metric", options.input.metric},
              {"keep", options.keep},
              {"patch", options.patch},
              {"frame", options.frame},
              {"finish", options.finish},
              {"dispersion", options.dispersion},
              {"fusion", options.fusion},
              {"scale", options.scale},
              {"pixfrac", options.pixfrac},
              {"aperture", options.optics.aperture_mm},
              {"focal_length", options.optics.focal_length_mm},
              {"pixel", options.optics.pixel_um},
              {"wavelength", options.optics.wavelength_nm},
              {"object", options.object}});
  return out;
}

StackCommandOptions from_recipe(StackCommandOptions options) {
  const nlohmann::json recipe = files::load_recipe(options.recipe);
  try {
    const nlohmann::json& from = recipe.at("options");
    const auto text = [&from](const char* key) { return from.at(key).get<std::string>(); };
    if (options.input.capture.empty()) options.input.capture = text("capture");
    options.input.dark = text("dark");
    options.input.flat = text("flat");
    options.input.flat_dark = text("flat_dark");
    // Recipes of earlier versions say nothing of these.
    options.input.cfa = from.value("cfa", options.input.cfa);
    options.input.byte_order = from.value("byte_order", options.input.byte_order);
    options.input.pixel_format = from.value("pixel_format", options.input.pixel_format);
    options.input.pattern_noise = from.value("pattern_noise", "off");
    options.input.metric = text("metric");
    options.keep = text("keep");
    options.patch = text("patch");
    options.frame = text("frame");
    options.finish = text("finish");
    options.dispersion = text("dispersion");
    options.fusion = from.value("fusion", "selection");
    options.scale = from.value("scale", options.scale);
    options.pixfrac = from.value("pixfrac", options.pixfrac);
    read_json(from, options.look);
    if (options.object == "auto") options.object = from.value("object", options.object);
    if (options.optics.aperture_mm == 0) {
      OpticsOptions& optics = options.optics;
      optics.aperture_mm = from.value("aperture", optics.aperture_mm);
      optics.focal_length_mm = from.value("focal_length", optics.focal_length_mm);
      optics.pixel_um = from.value("pixel", optics.pixel_um);
      optics.wavelength_nm = from.value("wavelength", optics.wavelength_nm);
    }
  } catch (const nlohmann::json::exception& error) {
    throw InputError(fmt::format("{}: the recipe lacks an option or has one of the wrong kind: {}",
                                 options.recipe, error.what()));
  }
  return options;
}

}  // namespace lull::app
