#include "mosaic/layout.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.h"
#include "mosaic/adjust.h"
#include "mosaic/bend_panels.h"
#include "mosaic/find_links.h"
#include "mosaic/gradient_ties.h"
#include "mosaic/match_blurs.h"
#include "mosaic/patch_ties.h"

namespace lull::mosaic {

namespace {

// From what the features leave, some px, down to a fraction of one.
constexpr PatchSearch kCoarse{.window_px = 128, .spacing_px = 64, .reach_px = 24};
constexpr PatchSearch kFine{.window_px = 64, .spacing_px = 32, .reach_px = 8};
constexpr double kMostScale = 4;        // of a panel against the first
constexpr double kLeastVariance = 0.5;  // px^2
constexpr std::size_t kLeastTies = 6;   // of a link

std::vector<Link> of_group(std::vector<Link> links, const std::vector<PanelIndex>& group) {
  std::erase_if(links, [&](const Link& link) {
    return !std::binary_search(group.begin(), group.end(), link.first);
  });
  return links;
}

// Pairs that overlap as they lie now, whether their features said so or not.
std::vector<Link> neighbours(const std::vector<PanelMap>& maps,
                             const std::vector<PanelIndex>& group) {
  std::vector<Link> out;
  for (std::size_t i = 0; i < group.size(); ++i) {
    for (std::size_t j = i + 1; j < group.size(); ++j) {
      const Box both = outline(maps[group[i]]).intersection(outline(maps[group[j]]));
      if (!both.empty()) out.push_back({group[i], group[j], {}});
    }
  }
  return out;
}

const Link* same_link(const std::vector<Link>& links, const Link& link) {
  const auto found = std::find_if(links.begin(), links.end(), [&](const Link& other) {
    return other.first == link.first && other.second == link.second;
  });
  return found == links.end() ? nullptr : &*found;
}

// Tied by patches as the maps are now. Small patches may hold too little where large ones did not:
// then the earlier ties stay. What shows too little in common is left out, unless the group would
// fall apart.
// @param earlier  by larger patches. @param features  of the group.
std::vector<Link> tied(const std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
                       Shelf<Readable>& shelf, const PatchSearch& search,
                       const std::vector<Link>& earlier, const std::vector<Link>& features,
                       const Progress& progress) {
  std::vector<Link> links = neighbours(maps, group);
  std::int64_t done = 0;
  for (Link& link : links) {
    progress.step("registering", done++, std::ssize(links));
    const auto first = shelf.take(link.first);
    const auto second = shelf.take(link.second);
    link.ties = patch_ties(*first, maps[link.first], *second, maps[link.second], search);
    if (link.ties.size() >= kLeastTies) continue;
    const Link* larger = same_link(earlier, link);
    if (larger != nullptr) link.ties = larger->ties;
  }
  std::erase_if(links, [](const Link& link) { return link.ties.size() < kLeastTies; });
  const auto groups = groups_of(maps.size(), links);
  if (groups.front().size() == group.size()) return links;
  for (const Link& link : features) {
    if (same_link(links, link) == nullptr) links.push_back(link);
  }
  return links;
}

// Tied more closely where the maps lie now; a link that shows no such ties keeps those it has.
void tie_closely(Layout& layout, Shelf<Readable>& shelf, Grains grains, const Progress& progress) {
  std::int64_t done = 0;
  for (Link& link : layout.links) {
    progress.step("registering", done++, std::ssize(layout.links));
    const auto first = shelf.take(link.first);
    const auto second = shelf.take(link.second);
    auto ties =
        gradient_ties(*first, layout.maps[link.first], *second, layout.maps[link.second], grains);
    if (ties.size() >= kLeastTies) link.ties = std::move(ties);
  }
}

// What is left of the gaps says how strong the air was.
void bend(Layout& layout, const Limb& limb) {
  const double variance = std::max(kLeastVariance, layout.rigid_rms_px * layout.rigid_rms_px);
  layout.bent_rms_px = bend_panels(layout.maps, layout.group, layout.links,
                                   {.variance_px2 = variance}, limb_anchors(limb, layout.maps));
}

// What is bent already is measured better each time.
void follow_closely(Layout& layout, Grains grains, const Limb& limb, Shelf<Readable>& shelf,
                    const Progress& progress) {
  tie_closely(layout, shelf, grains, progress);
  const std::vector<Anchor> anchors = limb_anchors(limb, layout.maps);
  for (const PanelIndex panel : layout.group) layout.maps[panel].bend = Bend();
  layout.rigid_rms_px = adjust(layout.maps, layout.group, layout.links, anchors);
  bend(layout, limb);
}

// Coarse detail is sure of shifts of pixels. Whether the limb is flattened shows once most of them
// are undone.
void follow_bends(Layout& layout, const std::vector<Sketch>& sketches, Limbs limbs,
                  Shelf<Readable>& shelf, const Progress& progress) {
  bend(layout, {});
  follow_closely(layout, Grains::coarse, {}, shelf, progress);
  follow_closely(layout, Grains::both, {}, shelf, progress);
  if (limbs == Limbs::round)
    layout.limb = find_limb(sketches, layout.maps, layout.group, shelf, progress);
  follow_closely(layout, Grains::both, layout.limb, shelf, progress);
}

// What a false overlap would make of them.
void require_alike(const std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group) {
  for (const PanelIndex panel : group) {
    const double scale = maps[panel].scale();
    if (scale > 1 / kMostScale && scale < kMostScale) continue;
    throw NothingUsable(
        "the panels do not fit together: their scales differ more than fourfold; give those of one "
        "camera, and leave out what shows something else");
  }
}

}  // namespace

Layout lay_out(const std::vector<Sketch>& sketches, const LoadPanel& load,
               const LayoutOptions& options, const Progress& progress) {
  Layout out;
  progress.step("finding overlaps", 0, 1);
  out.links = find_links(sketches);
  auto groups = groups_of(sketches.size(), out.links);
  out.group = groups.front();
  out.apart.assign(groups.begin() + 1, groups.end());
  if (out.group.size() < 2)
    throw NothingUsable(
        "no two panels show the same part of the scene: neighbours must share a tenth of their "
        "width or more, with detail in it");
  std::vector<Size> sizes;
  sizes.reserve(sketches.size());
  for (const Sketch& sketch : sketches) sizes.push_back(sketch.panel);
  out.links = of_group(std::move(out.links), out.group);
  out.maps = first_places(sizes, out.group, out.links);
  adjust(out.maps, out.group, out.links);
  require_alike(out.maps, out.group);
  if (options.foresee) {
    std::vector<PanelMap> maps = out.maps;
    options.foresee(settle(maps, out.group), out.group.size());
  }
  Shelf<Readable> shelf([&](PanelIndex panel) { return readable(load(panel)); },
                        [](const Readable& panel) { return bytes_of(panel); }, options.most_bytes);
  const std::vector<Link> features = std::exchange(out.links, {});
  for (const PatchSearch& search : {kCoarse, kFine}) {
    out.links = tied(out.maps, out.group, shelf, search, out.links, features, progress);
    out.rigid_rms_px = adjust(out.maps, out.group, out.links);
  }
  out.bent_rms_px = out.rigid_rms_px;
  if (options.bends == Bends::followed) follow_bends(out, sketches, options.limb, shelf, progress);
  require_alike(out.maps, out.group);
  out.mosaic = settle(out.maps, out.group);
  out.gains.resize(sketches.size());
  if (options.blurs == Blurs::matched)
    out.gains = gains_to_one_blur(out.maps, out.group, out.links, shelf, progress);
  out.brightness.assign(sketches.front().light.size(), std::vector<Brightness>(sketches.size()));
  if (options.lights == Lights::matched)
    out.brightness = brightness_of(sketches, out.maps, out.group, out.links);
  return out;
}

PanelIndex typical_panel(const Layout& layout) {
  const auto changed = [&](PanelIndex panel) {
    double most = 0;
    for (const spectrum::FilterPoint& point : layout.gains[panel])
      most = std::max(most, std::abs(std::log(point.gain)));
    return most;
  };
  return *std::min_element(layout.group.begin(), layout.group.end(),
                           [&](PanelIndex a, PanelIndex b) { return changed(a) < changed(b); });
}

}  // namespace lull::mosaic
