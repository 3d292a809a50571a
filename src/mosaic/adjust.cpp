#include "mosaic/adjust.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numeric>
#include <opencv2/core.hpp>
#include <optional>
#include <utility>

#include "core/normal_equations.h"

namespace lull::mosaic {

namespace {

using Complex = std::complex<double>;

constexpr int kMostRounds = 12;
constexpr double kStillPx = 1e-3;
constexpr double kNoWeight = 1e-12;
constexpr double kDistortionPrior = 0.01;  // standard deviation of what optics do
constexpr std::size_t kEach = 4;           // unknowns of a panel: factor, middle

std::vector<const Link*> links_of(const std::vector<Link>& links, PanelIndex panel) {
  std::vector<const Link*> out;
  for (const Link& link : links) {
    if (link.first == panel || link.second == panel) out.push_back(&link);
  }
  return out;
}

// The similarity that lays `link`'s other panel onto the one that has a place.
std::optional<PanelMap> laid_onto(const std::vector<PanelMap>& maps, const Link& link,
                                  PanelIndex panel) {
  const bool is_first = link.first == panel;
  const PanelMap& there = maps[is_first ? link.second : link.first];
  PanelMap out;
  out.panel = maps[panel].panel;
  NormalEquations<kEach> sums;
  for (const Tie& tie : link.ties) {
    const Displacement own = is_first ? tie.first : tie.second;
    const Displacement at = there.to_mosaic(is_first ? tie.second : tie.first);
    const Complex from_middle = out.from_middle(own);
    sums.add({from_middle.real(), -from_middle.imag(), 1, 0}, at.x_px, tie.weight.mean());
    sums.add({from_middle.imag(), from_middle.real(), 0, 1}, at.y_px, tie.weight.mean());
  }
  const auto found = sums.solution();
  if (!found) return std::nullopt;
  out.factor = {(*found)[0], (*found)[1]};
  out.middle = {(*found)[2], (*found)[3]};
  return out;
}

// What a tie's end in the mosaic follows from: place = factor * lens + middle, and how it moves
// with the distortion.
struct End {
  Complex at;
  Complex lens;
  Complex by_distortion;
};

End end_of(const PanelMap& map, Displacement place) {
  const Complex lens = map.lens(place);
  return {map.factor * lens + map.middle, lens,
          map.factor * map.from_middle(place) * map.radius2(place)};
}

// Normal equations of all panels but the first of the group, and the distortion.
class Equations {
 public:
  Equations(std::size_t panels, const std::vector<PanelIndex>& group)
      : slot_(panels, kNone),
        unknowns_(kEach * (group.size() - 1) + 1),
        a_(cv::Mat::zeros(static_cast<int>(unknowns_), static_cast<int>(unknowns_), CV_64F)),
        b_(cv::Mat::zeros(static_cast<int>(unknowns_), 1, CV_64F)) {
    for (std::size_t i = 1; i < group.size(); ++i) slot_[group[i]] = kEach * (i - 1);
    a_.at<double>(last(), last()) = 1 / (kDistortionPrior * kDistortionPrior);
  }

  void start_from(double distortion) {
    b_.at<double>(last()) = -distortion / (kDistortionPrior * kDistortionPrior);
  }

  // One tie: its ends should meet, as far as it is known where.
  void add(const Link& link, const End& first, const End& second, const Information& weight) {
    add_in_both(weight, [&](Complex way) {
      put_panel(link.first, first, 1, way);
      put_panel(link.second, second, -1, way);
      put(unknowns_ - 1, along(way, first.by_distortion - second.by_distortion));
      accumulate(along(way, second.at - first.at));
    });
  }

  // One anchor: the panel's place should lie there.
  void add(PanelIndex panel, const End& end, Complex there, const Information& weight) {
    add_in_both(weight, [&](Complex way) {
      put_panel(panel, end, 1, way);
      put(unknowns_ - 1, along(way, end.by_distortion));
      accumulate(along(way, there - end.at));
    });
  }

  // Applies the solution. @return false where there is none.
  bool solve(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group) const {
    cv::Mat x;
    if (!cv::solve(a_, b_, x, cv::DECOMP_CHOLESKY)) return false;
    const auto value = [&](std::size_t i) { return x.at<double>(static_cast<int>(i)); };
    for (const PanelIndex panel : group) {
      maps[panel].distortion += value(unknowns_ - 1);
      const std::size_t slot = slot_[panel];
      if (slot == kNone) continue;
      maps[panel].factor += Complex(value(slot), value(slot + 1));
      maps[panel].middle += Complex(value(slot + 2), value(slot + 3));
    }
    return true;
  }

 private:
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  [[nodiscard]] int last() const { return static_cast<int>(unknowns_) - 1; }

  void put(std::size_t unknown, double value) {
    which_[count_] = static_cast<int>(unknown);
    row_[count_++] = value;
  }

  static double along(Complex way, Complex z) {
    return way.real() * z.real() + way.imag() * z.imag();
  }

  // In two directions whose errors are independent, by Cholesky's decomposition.
  template <class AddAlong>
  static void add_in_both(const Information& weight, const AddAlong& add_along) {
    const double root = std::sqrt(std::max(weight.xx, kNoWeight));
    const double slant = weight.xy / root;
    add_along(Complex(root, slant));
    add_along(Complex(0, std::sqrt(std::max(weight.yy - slant * slant, 0.0))));
  }

  void put_panel(PanelIndex panel, const End& end, double sign, Complex way) {
    const std::size_t slot = slot_[panel];
    if (slot == kNone) return;
    const Complex right_angle(0, 1);
    put(slot, sign * along(way, end.lens));
    put(slot + 1, sign * along(way, right_angle * end.lens));
    put(slot + 2, sign * along(way, 1));
    put(slot + 3, sign * along(way, right_angle));
  }

  // The row that was put, which ends with it.
  void accumulate(double value) {
    for (std::size_t i = 0; i < count_; ++i) {
      for (std::size_t j = 0; j < count_; ++j)
        a_.at<double>(which_[i], which_[j]) += row_[i] * row_[j];
      b_.at<double>(which_[i]) += row_[i] * value;
    }
    count_ = 0;
  }

  std::vector<std::size_t> slot_;
  std::size_t unknowns_;
  cv::Mat a_;
  cv::Mat b_;
  std::array<int, 2 * kEach + 1> which_{};
  std::array<double, 2 * kEach + 1> row_{};
  std::size_t count_ = 0;
};

Displacement gap_of(const std::vector<PanelMap>& maps, const Link& link, const Tie& tie) {
  return maps[link.first].to_mosaic(tie.first) - maps[link.second].to_mosaic(tie.second);
}

Gaps gaps_of(const std::vector<PanelMap>& maps, const std::vector<Link>& links) {
  Gaps out;
  for (const Link& link : links)
    for (const Tie& tie : link.ties) out.add(gap_of(maps, link, tie), tie.weight);
  out.judge();
  return out;
}

Gaps gaps_of(const std::vector<PanelMap>& maps, const std::vector<Anchor>& anchors) {
  Gaps out;
  for (const Anchor& anchor : anchors)
    out.add(maps[anchor.panel].to_mosaic(anchor.place) - anchor.mosaic, anchor.weight);
  out.judge(1);
  return out;
}

}  // namespace

std::vector<std::vector<PanelIndex>> groups_of(std::size_t panels, const std::vector<Link>& links) {
  std::vector<PanelIndex> head(panels);
  std::iota(head.begin(), head.end(), PanelIndex{0});
  const auto head_of = [&](PanelIndex panel) {
    while (head[panel] != panel) panel = head[panel];
    return panel;
  };
  for (const Link& link : links) {
    const PanelIndex a = head_of(link.first);
    const PanelIndex b = head_of(link.second);
    head[std::max(a, b)] = std::min(a, b);
  }
  std::vector<std::vector<PanelIndex>> out(panels);
  for (PanelIndex panel = 0; panel < panels; ++panel) out[head_of(panel)].push_back(panel);
  std::erase_if(out, [](const auto& group) { return group.empty(); });
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.size() > b.size(); });
  return out;
}

std::vector<PanelMap> first_places(const std::vector<Size>& panels,
                                   const std::vector<PanelIndex>& group,
                                   const std::vector<Link>& links) {
  std::vector<PanelMap> maps(panels.size());
  for (PanelIndex i = 0; i < panels.size(); ++i) maps[i].panel = panels[i];
  std::vector<bool> placed(panels.size(), false);
  std::vector<PanelIndex> front = {group.front()};
  placed[group.front()] = true;
  while (!front.empty()) {
    // Of all links from placed panels to others, the one with most ties.
    const Link* best = nullptr;
    for (const PanelIndex panel : front) {
      for (const Link* link : links_of(links, panel)) {
        if (placed[link->first] && placed[link->second]) continue;
        if (best == nullptr || link->ties.size() > best->ties.size()) best = link;
      }
    }
    if (best == nullptr) break;
    const PanelIndex next = placed[best->first] ? best->second : best->first;
    placed[next] = true;
    if (const auto map = laid_onto(maps, *best, next)) maps[next] = *map;
    front.push_back(next);
  }
  return maps;
}

double adjust(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
              const std::vector<Link>& links, const std::vector<Anchor>& anchors) {
  Gaps gaps = gaps_of(maps, links);
  for (int round = 0; round < kMostRounds; ++round) {
    Equations equations(maps.size(), group);
    equations.start_from(maps[group.front()].distortion);
    std::size_t i = 0;
    for (const Link& link : links) {
      for (const Tie& tie : link.ties)
        equations.add(link, end_of(maps[link.first], tie.first),
                      end_of(maps[link.second], tie.second), tie.weight * gaps.trusted[i++]);
    }
    const Gaps off = gaps_of(maps, anchors);
    for (i = 0; i < anchors.size(); ++i)
      equations.add(anchors[i].panel, end_of(maps[anchors[i].panel], anchors[i].place),
                    {anchors[i].mosaic.x_px, anchors[i].mosaic.y_px},
                    anchors[i].weight * off.trusted[i]);
    if (!equations.solve(maps, group)) break;
    const double before = std::exchange(gaps, gaps_of(maps, links)).rms_px;
    if (std::abs(gaps.rms_px - before) < kStillPx) break;
  }
  return gaps.rms_px;
}

Size settle(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group) {
  double logs = 0;
  for (const PanelIndex panel : group) logs += std::log(maps[panel].scale());
  const double factor = std::exp(-logs / static_cast<double>(group.size()));
  Box all;
  for (const PanelIndex panel : group) {
    maps[panel].factor *= factor;
    maps[panel].middle *= factor;
    const Box box = outline(maps[panel]);
    if (all.empty()) all = box;
    all = {std::min(all.x0, box.x0), std::min(all.y0, box.y0), std::max(all.x1, box.x1),
           std::max(all.y1, box.y1)};
  }
  const Complex origin(all.x0, all.y0);
  for (const PanelIndex panel : group) maps[panel].middle -= origin;
  return {all.width_px(), all.height_px()};
}

}  // namespace lull::mosaic
