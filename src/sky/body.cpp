#include "sky/body.h"

#include <stdexcept>

namespace lull::sky {

namespace {

struct BodyFacts {
  Body body;
  std::string_view name;
  std::string_view title;
  Globe globe;
  LongitudeSense sense;
};

using enum LongitudeSense;

constexpr std::array kFacts = {
    BodyFacts{Body::sun, "sun", "the Sun", {695700, 695700}, east},
    BodyFacts{Body::moon, "moon", "the Moon", {1737.4, 1737.4}, east},
    BodyFacts{Body::mercury, "mercury", "Mercury", {2440.53, 2438.26}, west},
    BodyFacts{Body::venus, "venus", "Venus", {6051.8, 6051.8}, east},
    BodyFacts{Body::mars, "mars", "Mars", {3396.19, 3376.20}, west},
    BodyFacts{Body::jupiter, "jupiter", "Jupiter", {71492, 66854}, west},
    BodyFacts{Body::saturn, "saturn", "Saturn", {60268, 54364}, west},
    BodyFacts{Body::uranus, "uranus", "Uranus", {25559, 24973}, east},
    BodyFacts{Body::neptune, "neptune", "Neptune", {24764, 24341}, west}};

const BodyFacts& facts_of(Body body) {
  for (const BodyFacts& facts : kFacts) {
    if (facts.body == body) return facts;
  }
  throw std::logic_error("no such body");
}

}  // namespace

std::string_view body_name(Body body) { return facts_of(body).name; }

std::optional<Body> body_of_name(std::string_view name) {
  for (const Body body : kBodies) {
    if (body_name(body) == name) return body;
  }
  return std::nullopt;
}

std::string_view body_title(Body body) { return facts_of(body).title; }

Globe globe_of(Body body) { return facts_of(body).globe; }

LongitudeSense longitude_sense(Body body) { return facts_of(body).sense; }

}  // namespace lull::sky
