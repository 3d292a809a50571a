#include "desk/previews.h"

#include "desk/problem.h"

namespace lull::desk {

void Previews::make_room() {
  double bytes = 0;
  recent_.make_room([&bytes](std::size_t count, const run::FinishPreview& preview) {
    bytes += preview.bytes();
    return count > kMostOpen || bytes > kMostBytes;
  });
}

void Previews::use(const ResultIndex& index, const Result& result,
                   const std::function<bool()>& is_gone, const Work& work) {
  const std::string linear = result.linear();
  if (linear.empty()) {
    throw Problem(409, "this result has no linear stack to tune",
                  "stack the capture again, and keep the .linear.fits beside the picture");
  }
  const auto opened = recent_.entry(index.path_of(result, linear).string(), result.modified_s);
  {
    const std::scoped_lock lock(opened->guard);
    // A page that drags a control asks faster than pictures can be made.
    if (is_gone && is_gone()) throw Problem(409, "nobody waits for this answer");
    if (!opened->value) opened->value = std::make_shared<run::FinishPreview>(opened->path);
    work(*opened->value);
  }
  make_room();
}

}  // namespace lull::desk
