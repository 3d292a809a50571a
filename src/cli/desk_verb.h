#pragma once

#include <vector>

#include "cli/verb.h"
#include "desk/desk_request.h"

namespace lull::cli {

/// `lull desk`: serves pages until it is interrupted.
class DeskVerb : public Verb {
 public:
  DeskVerb();

  [[nodiscard]] std::vector<run::OptionFacts> options() const override;
  void execute(const CancelToken& cancel) override;

 private:
  run::OptionTable<run::Resources> resources_;
};

}  // namespace lull::cli
