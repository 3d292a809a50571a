#include "globe/orientation.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "globe/limb_fit.h"

namespace lull::globe {

namespace {

constexpr double kDarkening = 0.85;
constexpr int kDirections = 24;
constexpr std::size_t kCompared = 5;
constexpr int kHalvings = 5;  // of the step between directions, to 0.5 degrees
constexpr double kClearlyMore = 0.1;
constexpr double kLessLeft = 0.8;     // of what the other likeness leaves to 1
constexpr double kFarLessLeft = 0.5;  // likewise
constexpr double kMostSpreadDeg = 4;  // of the angles by the limb

// Evenly over the series, the one in the middle among them.
std::vector<DatedFace> some_of(const std::vector<DatedFace>& faces) {
  if (faces.size() <= kCompared) return faces;
  std::vector<DatedFace> some;
  some.reserve(kCompared);
  for (std::size_t i = 0; i < kCompared; ++i)
    some.push_back(faces[i * (faces.size() - 1) / (kCompared - 1)]);
  return some;
}

struct Candidate {
  Orientation orientation{};
  double likeness = -1;
};

class Search {
 public:
  Search(std::vector<DatedFace> faces, sky::Body body) : faces_(std::move(faces)), body_(body) {}

  [[nodiscard]] Candidate tried(const Orientation& orientation, Compared compared) const {
    return {orientation, likeness_of_series(faces_, orientation, body_, compared)};
  }

  [[nodiscard]] Orientation best_direction(bool mirrored) const {
    std::vector<Candidate> all(kDirections);
    parallel_for(kDirections, [&](std::int64_t i) {
      all[static_cast<std::size_t>(i)] =
          tried({static_cast<double>(i) * 2 * std::numbers::pi / kDirections, mirrored},
                Compared::detail);
    });
    return std::max_element(
               all.begin(), all.end(),
               [](const Candidate& a, const Candidate& b) { return a.likeness < b.likeness; })
        ->orientation;
  }

  // With the limbs fitted from that angle on. Their angles count where they agree.
  [[nodiscard]] Candidate refined(const Orientation& rough) const {
    Search exact = *this;
    std::vector<double> off;
    off.reserve(faces_.size());
    for (DatedFace& dated : exact.faces_) {
      const Face face = dated.placed(rough);
      const auto limb = fit_limb(face.light->view(), face.shape, face.place, LimbSearch::angle_too);
      if (!limb) continue;
      dated.face.place = limb->place;
      off.push_back(limb->place.pole_clockwise_rad - face.place.pole_clockwise_rad);
    }
    Candidate best = exact.tried(rough, Compared::detail);
    double step_deg = 180.0 / kDirections;
    for (int i = 0; i < kHalvings; ++i, step_deg /= 2) {
      for (const double side : {-1.0, 1.0}) {
        Orientation next = best.orientation;
        next.north_clockwise_rad += side * step_deg * sky::kDegree;
        const Candidate other = exact.tried(next, Compared::detail);
        if (other.likeness > best.likeness) best = other;
      }
    }
    best = exact.tried(best.orientation, Compared::features);
    std::sort(off.begin(), off.end());
    if (off.size() < 2 || off.back() - off.front() > 2 * kMostSpreadDeg * sky::kDegree) return best;
    Orientation by_limb = rough;
    by_limb.north_clockwise_rad += off[off.size() / 2];
    const Candidate other = exact.tried(by_limb, Compared::features);
    return other.likeness > best.likeness ? other : best;
  }

  // The better sense along the axis, and the likeness of the other.
  [[nodiscard]] FoundOrientation best_sense(bool mirrored) const {
    const Orientation rough = best_direction(mirrored);
    const Candidate one = refined(rough);
    const Candidate other = refined(rough.opposite());
    const bool first = one.likeness >= other.likeness;
    return {first ? one.orientation : other.orientation, std::max(one.likeness, other.likeness),
            std::min(one.likeness, other.likeness), 0};
  }

 private:
  std::vector<DatedFace> faces_;
  sky::Body body_;
};

// Arcs that lie the wrong way, and large detail that moves the wrong way, show in the small part
// that is not alike.
bool leaves_less(double likeness, double than, double share) {
  return 1 - likeness < share * (1 - than);
}

}  // namespace

Orientation Orientation::opposite() const {
  return {north_clockwise_rad + std::numbers::pi, mirrored};
}

// Position angles grow to the left of north, in a mirrored picture to its right.
double Orientation::clockwise(double position_angle_deg) const {
  return north_clockwise_rad + (mirrored ? 1 : -1) * position_angle_deg * sky::kDegree;
}

Face DatedFace::placed(const Orientation& orientation) const {
  Face out = face;
  out.place.pole_clockwise_rad = orientation.clockwise(pole_deg);
  out.place.mirrored = orientation.mirrored;
  return turned_about ? globe::turned_about(out) : out;
}

bool is_clearly_more(double likeness, double than) {
  return likeness > than + kClearlyMore || leaves_less(likeness, than, kFarLessLeft);
}

bool FoundOrientation::is_certain() const { return is_clearly_more(likeness, of_opposite); }

bool FoundOrientation::tells_mirrors() const {
  return leaves_less(likeness, of_mirrored, kLessLeft);
}

double likeness_of_series(const std::vector<DatedFace>& faces, const Orientation& orientation,
                          sky::Body body, Compared compared) {
  const std::vector<DatedFace> some = some_of(faces);
  const std::size_t middle = some.size() / 2;
  const FaceComparison comparison(some[middle].placed(orientation), body, kDarkening);
  double sum = 0;
  for (std::size_t i = 0; i < some.size(); ++i) {
    if (i == middle) continue;
    const Face other = some[i].placed(orientation);
    sum += compared == Compared::detail ? comparison.likeness(other)
                                        : comparison.likeness_of_features(other);
  }
  return sum / static_cast<double>(some.size() - 1);
}

FoundOrientation find_orientation(const std::vector<DatedFace>& faces, sky::Body body) {
  const Search search(some_of(faces), body);
  FoundOrientation plain = search.best_sense(false);
  FoundOrientation mirrored = search.best_sense(true);
  plain.of_mirrored = mirrored.likeness;
  mirrored.of_mirrored = plain.likeness;
  // One that is not mirrored is the more usual one, where both are as good.
  return leaves_less(mirrored.likeness, plain.likeness, kLessLeft) ? mirrored : plain;
}

}  // namespace lull::globe
