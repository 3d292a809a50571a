#include "desk/previews.h"

#include <algorithm>

#include "desk/problem.h"

namespace lull::desk {

std::shared_ptr<Previews::Open> Previews::entry(const std::string& path, std::int64_t modified_s) {
  const std::scoped_lock lock(guard_);
  const auto known = std::find_if(open_.begin(), open_.end(), [&](const auto& one) {
    return one->path == path && one->modified_s == modified_s;
  });
  if (known != open_.end()) {
    open_.splice(open_.begin(), open_, known);
  } else {
    open_.remove_if([&](const auto& one) { return one->path == path; });
    auto opened = std::make_shared<Open>();
    opened->path = path;
    opened->modified_s = modified_s;
    open_.push_front(std::move(opened));
  }
  return open_.front();
}

// One that is in use ends with its last user.
void Previews::make_room() {
  const std::scoped_lock lock(guard_);
  double bytes = 0;
  std::size_t count = 0;
  open_.remove_if([&](const auto& one) {
    const std::unique_lock used(one->guard, std::try_to_lock);
    if (!used || !one->preview) return false;
    bytes += one->preview->bytes();
    return count++ > 0 && (count > kMostOpen || bytes > kMostBytes);
  });
}

void Previews::use(const ResultIndex& index, const Result& result,
                   const std::function<bool()>& is_gone, const Work& work) {
  const std::string linear = result.linear();
  if (linear.empty()) {
    throw Problem(409, "this result has no linear stack to tune",
                  "stack the capture again, and keep the .linear.fits beside the picture");
  }
  const auto opened = entry(index.path_of(result, linear).string(), result.modified_s);
  {
    const std::scoped_lock lock(opened->guard);
    // A page that drags a control asks faster than pictures can be made.
    if (is_gone && is_gone()) throw Problem(409, "nobody waits for this answer");
    if (!opened->preview) opened->preview = std::make_unique<run::FinishPreview>(opened->path);
    work(*opened->preview);
  }
  make_room();
}

}  // namespace lull::desk
