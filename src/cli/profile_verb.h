#pragma once

#include <vector>

#include "cli/verb.h"
#include "run/profile_request.h"

namespace lull::cli {

/// `lull profile`: checks a profile and shows it, or prints one to begin with.
class ProfileVerb : public Verb {
 public:
  ProfileVerb();

  [[nodiscard]] std::vector<run::OptionFacts> options() const override;
  void execute(const CancelToken& cancel) override;

 private:
  run::OptionTable<Presentation> presentation_;
};

}  // namespace lull::cli
