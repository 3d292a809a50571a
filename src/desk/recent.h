#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

namespace lull::desk {

/// What was made of files that were used last, by their paths. Any thread; each entry has a guard
/// of its own, to be held while its value is made or used.
template <class Value>
class Recent {
 public:
  struct Entry {
    std::string path;
    std::int64_t modified_s = 0;
    std::mutex guard;
    std::shared_ptr<Value> value;  ///< null until it is made
  };

  /// That of a file as it was at a time: what was made of it before is forgotten.
  [[nodiscard]] std::shared_ptr<Entry> entry(const std::string& path, std::int64_t modified_s) {
    const std::scoped_lock lock(guard_);
    const auto known = std::find_if(entries_.begin(), entries_.end(), [&](const auto& one) {
      return one->path == path && one->modified_s == modified_s;
    });
    if (known != entries_.end()) {
      entries_.splice(entries_.begin(), entries_, known);
    } else {
      entries_.remove_if([&](const auto& one) { return one->path == path; });
      auto made = std::make_shared<Entry>();
      made->path = path;
      made->modified_s = modified_s;
      entries_.push_front(std::move(made));
    }
    return entries_.front();
  }

  /// Forgets what was used longest ago, but for the newest. What is in use ends with its last user.
  /// @param is_too_much  whether so many, the given one among them, are too many.
  template <class IsTooMuch>
  void make_room(const IsTooMuch& is_too_much) {
    const std::scoped_lock lock(guard_);
    std::size_t count = 0;
    entries_.remove_if([&](const auto& one) {
      const std::unique_lock used(one->guard, std::try_to_lock);
      if (!used || !one->value) return false;
      const bool too_much = is_too_much(count + 1, *one->value);
      return count++ > 0 && too_much;
    });
  }

 private:
  std::mutex guard_;
  std::list<std::shared_ptr<Entry>> entries_;  ///< the last used first
};

}  // namespace lull::desk
