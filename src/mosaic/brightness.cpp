#include "mosaic/brightness.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core.hpp>

#include "core/statistics.h"
#include "merge/detail.h"

namespace lull::mosaic {

namespace {

constexpr double kSmoothPx = 2;        // of a sketch, before its light is read
constexpr double kMarginPx = 4;        // of a sketch: as far the smoothing sees its edge
constexpr int kAcross = 60;            // samples over the longest side of a panel
constexpr double kGainPrior = 0.15;    // standard deviations of what is usual
constexpr double kOffsetPrior = 0.02;  // of the greatest light
constexpr double kHold = 1e9;          // weight of a sum against the prior of one
constexpr double kVignettingPrior = 0.1;
constexpr double kRelativeError = 0.003;  // of a sample's light
constexpr double kAbsoluteError = 0.001;  // of the greatest light
constexpr int kRounds = 8;

// One place that two panels show.
struct Sample {
  PanelIndex first = 0;
  PanelIndex second = 0;
  double first_light = 0;
  double second_light = 0;
  double first_radius2 = 0;
  double second_radius2 = 0;
};

bool read(const Sketch& sketch, const Plane& smooth, Displacement place, double& light) {
  const Displacement at = sketch.seen_at(place);
  if (!is_inside(smooth.size(), at, kMarginPx)) return false;
  light = static_cast<double>(smooth.view().at(static_cast<int>(std::lround(at.x_px)),
                                               static_cast<int>(std::lround(at.y_px))));
  return true;
}

std::vector<Sample> samples_of(const std::vector<Sketch>& sketches,
                               const std::vector<PanelMap>& maps, const std::vector<Link>& links,
                               const std::vector<Plane>& smooth) {
  std::vector<Sample> out;
  for (const Link& link : links) {
    const PanelMap& first = maps[link.first];
    const PanelMap& second = maps[link.second];
    const Box box = outline(first).intersection(outline(second));
    const int step = std::max(1, std::max(first.panel.width_px, first.panel.height_px) / kAcross);
    for (int y = box.y0; y < box.y1; y += step) {
      for (int x = box.x0; x < box.x1; x += step) {
        const Displacement at{static_cast<double>(x), static_cast<double>(y)};
        const Displacement p = first.to_panel(at);
        const Displacement q = second.to_panel(at);
        Sample sample{link.first, link.second, 0, 0, first.radius2(p), second.radius2(q)};
        if (read(sketches[link.first], smooth[link.first], p, sample.first_light) &&
            read(sketches[link.second], smooth[link.second], q, sample.second_light))
          out.push_back(sample);
      }
    }
  }
  return out;
}

// Gauss and Newton's steps over gains, offsets and vignetting.
class Fit {
 public:
  Fit(std::size_t panels, const std::vector<PanelIndex>& group, const std::vector<Sample>& samples)
      : group_(group), samples_(samples), slot_(panels, 0), light_(panels) {
    for (std::size_t i = 0; i < group.size(); ++i) slot_[group[i]] = static_cast<int>(2 * i);
    unknowns_ = static_cast<int>(2 * group.size() + 2);
    std::vector<double> values;
    values.reserve(samples.size());
    for (const Sample& sample : samples) values.push_back(sample.first_light);
    greatest_ = std::max(quantile(std::move(values), 0.99), 1e-12);
  }

  [[nodiscard]] std::vector<Brightness> solve() {
    std::vector<double> weights(samples_.size(), 1.0);
    for (int round = 0; round < kRounds; ++round) {
      if (!step(weights)) break;
      reweigh(weights);
    }
    normalise();
    return light_;
  }

 private:
  [[nodiscard]] double error_of(const Sample& sample) const {
    return kRelativeError * 0.5 * (sample.first_light + sample.second_light) +
           kAbsoluteError * greatest_;
  }

  [[nodiscard]] double gap_of(const Sample& sample) const {
    const Brightness& a = light_[sample.first];
    const Brightness& b = light_[sample.second];
    return (sample.first_light + a.offset) * a.factor_at(sample.first_radius2) -
           (sample.second_light + b.offset) * b.factor_at(sample.second_radius2);
  }

  bool step(const std::vector<double>& weights) {
    cv::Mat a = cv::Mat::zeros(unknowns_, unknowns_, CV_64F);
    cv::Mat b = cv::Mat::zeros(unknowns_, 1, CV_64F);
    for (std::size_t i = 0; i < samples_.size(); ++i)
      accumulate(samples_[i], weights[i] / std::pow(error_of(samples_[i]), 2), a, b);
    add_priors(a, b);
    cv::Mat x;
    if (!cv::solve(a, b, x, cv::DECOMP_CHOLESKY)) return false;
    for (const PanelIndex panel : group_) {
      Brightness& light = light_[panel];
      light.gain = std::max(0.05, light.gain + x.at<double>(slot_[panel]));
      light.offset += x.at<double>(slot_[panel] + 1);
      light.near += x.at<double>(unknowns_ - 2);
      light.far += x.at<double>(unknowns_ - 1);
    }
    return true;
  }

  void accumulate(const Sample& sample, double weight, cv::Mat& a, cv::Mat& b) const {
    const Brightness& one = light_[sample.first];
    const Brightness& other = light_[sample.second];
    const double lit = (sample.first_light + one.offset) * one.gain;
    const double other_lit = (sample.second_light + other.offset) * other.gain;
    const double shape = one.factor_at(sample.first_radius2) / one.gain;
    const double other_shape = other.factor_at(sample.second_radius2) / other.gain;
    const double r2 = sample.first_radius2;
    const double other_r2 = sample.second_radius2;
    const std::array<int, 6> which = {slot_[sample.first],  slot_[sample.first] + 1,
                                      slot_[sample.second], slot_[sample.second] + 1,
                                      unknowns_ - 2,        unknowns_ - 1};
    const std::array<double, 6> row = {lit / one.gain * shape,
                                       one.gain * shape,
                                       -other_lit / other.gain * other_shape,
                                       -other.gain * other_shape,
                                       lit * r2 - other_lit * other_r2,
                                       lit * r2 * r2 - other_lit * other_r2 * other_r2};
    const double value = -gap_of(sample);
    for (std::size_t i = 0; i < which.size(); ++i) {
      for (std::size_t j = 0; j < which.size(); ++j)
        a.at<double>(which[i], which[j]) += weight * row[i] * row[j];
      b.at<double>(which[i]) += weight * row[i] * value;
    }
  }

  void add_priors(cv::Mat& a, cv::Mat& b) const {
    const auto pull = [&](int unknown, double now, double usual, double deviation) {
      const double weight = 1 / (deviation * deviation);
      a.at<double>(unknown, unknown) += weight;
      b.at<double>(unknown) += weight * (usual - now);
    };
    for (const PanelIndex panel : group_) {
      pull(slot_[panel], light_[panel].gain, 1, kGainPrior);
      pull(slot_[panel] + 1, light_[panel].offset, 0, kOffsetPrior * greatest_);
    }
    // The mean of the gains is 1: without that, no light at all would fit best. That of the offsets
    // is 0: overlaps do not tell it.
    double gains = 0;
    double offsets = 0;
    for (const PanelIndex panel : group_) {
      gains += light_[panel].gain - 1;
      offsets += light_[panel].offset;
    }
    hold_sum(0, gains, kGainPrior, a, b);
    hold_sum(1, offsets, kOffsetPrior * greatest_, a, b);
    pull(unknowns_ - 2, light_[group_.front()].near, 0, kVignettingPrior);
    pull(unknowns_ - 1, light_[group_.front()].far, 0, kVignettingPrior);
  }

  // Keeps the sum of one kind of unknown, 0 gain or 1 offset, where it should be.
  void hold_sum(int kind, double excess, double deviation, cv::Mat& a, cv::Mat& b) const {
    const double weight = kHold / (deviation * deviation);
    for (const PanelIndex one : group_) {
      for (const PanelIndex other : group_)
        a.at<double>(slot_[one] + kind, slot_[other] + kind) += weight;
      b.at<double>(slot_[one] + kind) -= weight * excess;
    }
  }

  void reweigh(std::vector<double>& weights) const {
    std::vector<double> offs(samples_.size());
    for (std::size_t i = 0; i < samples_.size(); ++i)
      offs[i] = gap_of(samples_[i]) / error_of(samples_[i]);
    const double spread = std::max(sigma_about(offs, 0.0), 0.1);
    for (std::size_t i = 0; i < samples_.size(); ++i) weights[i] = trust(offs[i], spread);
  }

  void normalise() {
    double logs = 0;
    for (const PanelIndex panel : group_) logs += std::log(light_[panel].gain);
    const double mean = std::exp(logs / static_cast<double>(group_.size()));
    for (const PanelIndex panel : group_) light_[panel].gain /= mean;
  }

  const std::vector<PanelIndex>& group_;
  const std::vector<Sample>& samples_;
  std::vector<int> slot_;
  std::vector<Brightness> light_;
  int unknowns_ = 0;
  double greatest_ = 0;
};

}  // namespace

std::vector<std::vector<Brightness>> brightness_of(const std::vector<Sketch>& sketches,
                                                   const std::vector<PanelMap>& maps,
                                                   const std::vector<PanelIndex>& group,
                                                   const std::vector<Link>& links) {
  std::vector<std::vector<Brightness>> out;
  const std::size_t channels = sketches[group.front()].light.size();
  for (std::size_t channel = 0; channel < channels; ++channel) {
    std::vector<Plane> smooth(sketches.size());
    for (const PanelIndex panel : group)
      smooth[panel] = merge::blurred(sketches[panel].light[channel].view(), kSmoothPx);
    const std::vector<Sample> samples = samples_of(sketches, maps, links, smooth);
    out.push_back(samples.empty() ? std::vector<Brightness>(sketches.size())
                                  : Fit(sketches.size(), group, samples).solve());
  }
  return out;
}

}  // namespace lull::mosaic
