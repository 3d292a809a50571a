#pragma once

#include <memory>

#include "globe/derotate.h"

namespace lull::globe {

/// A globe in a small picture, of 80 px radius at most: enough to compare what it shows.
struct Face {
  std::shared_ptr<const Plane> light{};
  GlobeShape shape{};
  GlobePlace place{};
  double later_s = 0;  ///< than other faces

  [[nodiscard]] GlobeView view() const { return {shape, place}; }
};

[[nodiscard]] Face face_of(PlaneView light, const GlobeShape& shape, const GlobePlace& place,
                           double later_s);

/// The same, with the camera turned by 180 degrees.
[[nodiscard]] Face turned_about(Face face);

/// Compares the detail of faces with that of one of them, each brought to its moment, within 70% of
/// the radius. The mean brightness and the limb darkening are left out.
class FaceComparison {
 public:
  FaceComparison(const Face& reference, sky::Body body, double darkening);

  /// Correlation; 0 where there is no detail.
  [[nodiscard]] double likeness(const Face& other) const;

  /// The same of detail less its mean along the latitudes nearby: belts and shading do not tell how
  /// a globe turns.
  [[nodiscard]] double likeness_of_features(const Face& other) const;

  /// Whether it is like the reference only when it is turned by 180 degrees.
  [[nodiscard]] bool is_upside_down(const Face& other) const;

 private:
  struct Spot {
    int x;
    int y;
    double light;  ///< by Minnaert's law
  };

  [[nodiscard]] std::vector<Spot> spots() const;
  [[nodiscard]] std::vector<double> detail_of(const Face& face) const;
  [[nodiscard]] std::vector<double> features_of(const std::vector<double>& detail) const;

  double reference_s_;
  GlobeView view_;  ///< its pole is up: rows lie along latitudes
  double darkening_;
  Derotation nothing_;
  std::vector<Spot> spots_;
  std::vector<double> detail_;
};

}  // namespace lull::globe
