#include "lab/world.h"

#include <fmt/format.h>

#include <utility>

namespace lull::lab {

std::vector<Preset> presets_of(const std::string& family, const std::string& about,
                               const std::vector<World>& worlds) {
  std::vector<Preset> out;
  for (const World& world : worlds) {
    Preset preset{fmt::format("{}-{}", family, world.name),
                  fmt::format("{}: {}", about, world.about), world.parameters};
    preset.parameters.name = preset.name;
    world.change(preset.parameters);
    out.push_back(std::move(preset));
  }
  return out;
}

}  // namespace lull::lab
