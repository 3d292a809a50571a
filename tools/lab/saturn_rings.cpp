#include "lab/saturn_rings.h"

#include <array>
#include <cmath>

namespace lull::lab {

namespace {

struct Zone {
  double begin;  ///< equatorial radii
  SaturnRing ring;
};

// C, B, Cassini's division, A, Encke's gap, A.
constexpr std::array kZones = {Zone{1.239, {0.09, 0.05, 0.12}}, Zone{1.526, {0.72, 0.02, 0.97}},
                               Zone{1.950, {0.04, 0.04, 0.10}}, Zone{2.027, {0.52, 0.10, 0.60}},
                               Zone{2.214, {0.02, 0.01, 0.03}}, Zone{2.219, {0.48, 0.08, 0.55}}};

}  // namespace

SaturnRing saturn_ring(double radius) {
  if (radius < kZones.front().begin || radius > kRingsEnd) return {};
  SaturnRing out;
  for (const Zone& zone : kZones) {
    if (radius >= zone.begin) out = zone.ring;
  }
  // Grooves; ring B is brightest outside.
  out.light *= 0.88 + 0.1 * std::sin(40 * radius) * std::sin(13 * radius) +
               (radius < 1.95 ? 0.25 * (radius - 1.526) : 0);
  return out;
}

}  // namespace lull::lab
