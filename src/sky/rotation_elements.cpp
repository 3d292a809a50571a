#include "sky/rotation_elements.h"

#include <array>
#include <cmath>
#include <stdexcept>

namespace lull::sky {

namespace {

constexpr double kDaysPerCentury = 36525;

double sine(double degrees) { return std::sin(degrees * kDegree); }

double cosine(double degrees) { return std::cos(degrees * kDegree); }

// A periodic term of the Moon: its argument, and its amplitudes in right ascension (sine),
// declination (cosine) and prime meridian (sine), degrees.
struct MoonTerm {
  double at_2000;
  double per_day;
  double ra;
  double dec;
  double meridian;
};

// E1 to E13 of the report.
constexpr std::array kMoonTerms = {MoonTerm{125.045, -0.0529921, -3.8787, 1.5419, 3.5610},
                                   MoonTerm{250.089, -0.1059842, -0.1204, 0.0239, 0.1208},
                                   MoonTerm{260.008, 13.0120009, 0.0700, -0.0278, -0.0642},
                                   MoonTerm{176.625, 13.3407154, -0.0172, 0.0068, 0.0158},
                                   MoonTerm{357.529, 0.9856003, 0, 0, 0.0252},
                                   MoonTerm{311.589, 26.4057084, 0.0072, -0.0029, -0.0066},
                                   MoonTerm{134.963, 13.0649930, 0, 0.0009, -0.0047},
                                   MoonTerm{276.617, 0.3287146, 0, 0, -0.0046},
                                   MoonTerm{34.226, 1.7484877, 0, 0, 0.0028},
                                   MoonTerm{15.134, -0.1589763, -0.0052, 0.0008, 0.0052},
                                   MoonTerm{119.743, 0.0036096, 0, 0, 0.0040},
                                   MoonTerm{239.961, 0.1643573, 0, 0, 0.0019},
                                   MoonTerm{25.053, 12.9590088, 0.0043, -0.0009, -0.0044}};

RotationElements moon(double d) {
  const double t = d / kDaysPerCentury;
  RotationElements out{269.9949 + 0.0031 * t, 66.5392 + 0.0130 * t,
                       38.3213 + 13.17635815 * d - 1.4e-12 * d * d};
  for (const MoonTerm& term : kMoonTerms) {
    const double argument = term.at_2000 + term.per_day * d;
    out.pole_ra_deg += term.ra * sine(argument);
    out.pole_dec_deg += term.dec * cosine(argument);
    out.meridian_deg += term.meridian * sine(argument);
  }
  return out;
}

RotationElements mars(double d) {
  const double t = d / kDaysPerCentury;
  const double slow = 0.5042615 * t;
  return {317.269202 - 0.10927547 * t + 0.419057 * sine(79.398797 + slow),
          54.432516 - 0.05827105 * t + 1.591274 * cosine(166.325722 + slow),
          176.049863 + 350.891982443297 * d + 0.584542 * sine(95.391654 + slow)};
}

RotationElements jupiter(LongitudeSystem system, double d) {
  const double t = d / kDaysPerCentury;
  RotationElements out{268.056595 - 0.006499 * t, 64.495303 + 0.002413 * t, 0};
  switch (system) {
    case LongitudeSystem::one:
      out.meridian_deg = 67.1 + 877.900 * d;
      break;
    case LongitudeSystem::two:
      out.meridian_deg = 43.3 + 870.270 * d;
      break;
    case LongitudeSystem::three:
      out.meridian_deg = 284.95 + 870.5360000 * d;
      break;
  }
  return out;
}

RotationElements neptune(double d) {
  const double node = 357.85 + 52.316 * d / kDaysPerCentury;
  return {299.36 + 0.70 * sine(node), 43.46 - 0.51 * cosine(node),
          249.978 + 541.1397757 * d - 0.48 * sine(node)};
}

}  // namespace

RotationElements rotation_elements(Body body, LongitudeSystem system, double days) {
  const double t = days / kDaysPerCentury;
  switch (body) {
    case Body::sun:
      return {286.13, 63.87, 84.176 + 14.1844 * days};
    case Body::moon:
      return moon(days);
    case Body::mercury:
      return {281.0103 - 0.0328 * t, 61.4155 - 0.0049 * t, 329.5988 + 6.1385108 * days};
    case Body::venus:
      return {272.76, 67.16, 160.20 - 1.4813688 * days};
    case Body::mars:
      return mars(days);
    case Body::jupiter:
      return jupiter(system, days);
    case Body::saturn:
      return {40.589 - 0.036 * t, 83.537 - 0.004 * t, 38.90 + 810.7939024 * days};
    case Body::uranus:
      return {257.311, -15.175, 203.81 - 501.1600928 * days};
    case Body::neptune:
      return neptune(days);
  }
  throw std::logic_error("no such body");
}

Vector pole_of(const RotationElements& elements) {
  return direction(elements.pole_ra_deg * kDegree, elements.pole_dec_deg * kDegree);
}

Rotation body_axes(const RotationElements& elements) {
  const Vector pole = pole_of(elements);
  const Vector node = direction((elements.pole_ra_deg + 90) * kDegree, 0);
  const Vector past_node = pole.cross(node);
  const double turned = elements.meridian_deg * kDegree;
  const Vector x = node * std::cos(turned) + past_node * std::sin(turned);
  return {{x, pole.cross(x), pole}};
}

}  // namespace lull::sky
