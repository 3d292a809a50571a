#include "desk/pyramids.h"

#include <malloc.h>

namespace lull::desk {

std::shared_ptr<const TilePyramid> Pyramids::of(const std::string& picture, std::int64_t modified_s,
                                                const std::string& folder,
                                                const std::function<bool()>& is_gone) {
  const auto opened = recent_.entry(picture, modified_s);
  std::shared_ptr<const TilePyramid> out;
  {
    const std::scoped_lock lock(opened->guard);
    if (!opened->value) {
      opened->value = std::make_shared<const TilePyramid>(picture, folder, is_gone);
      ::malloc_trim(0);  // bands of large pictures are not needed again
    }
    out = opened->value;
  }
  recent_.make_room([](std::size_t count, const TilePyramid&) { return count > kMostOpen; });
  return out;
}

}  // namespace lull::desk
