#include "desk/growing_stack.h"

#include <utility>

namespace lull::desk {

namespace {

constexpr std::chrono::seconds kNotBefore{2};

}  // namespace

void GrowingStack::clear() {
  const std::scoped_lock lock(guard_);
  newest_.reset();
  wanted_ = false;
  made_.reset();
}

std::size_t GrowingStack::frames() const {
  const std::scoped_lock lock(guard_);
  return newest_ ? newest_->frames : 0;
}

std::shared_ptr<const GrowingStack::Picture> GrowingStack::look() {
  const std::scoped_lock lock(guard_);
  wanted_ = true;
  return newest_;
}

bool GrowingStack::wants_picture() {
  const bool is_watched = is_watched_ && is_watched_();
  const std::scoped_lock lock(guard_);
  return (wanted_ || is_watched) && (!made_ || Clock::now() - *made_ >= kNotBefore);
}

void GrowingStack::see(std::vector<Plane> channels, std::size_t frames) {
  auto picture = std::make_shared<Picture>();
  picture->picture.channels = std::move(channels);
  picture->frames = frames;
  const std::scoped_lock lock(guard_);
  newest_ = std::move(picture);
  wanted_ = false;
  made_ = Clock::now();
}

}  // namespace lull::desk
