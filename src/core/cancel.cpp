#include "core/cancel.h"

#include "core/error.h"

namespace lull {

namespace {

thread_local const CancelToken* in_scope = nullptr;

}  // namespace

CancelScope::CancelScope(const CancelToken* token) : earlier_(in_scope) { in_scope = token; }

CancelScope::~CancelScope() { in_scope = earlier_; }

const CancelToken* cancel_in_scope() { return in_scope; }

void stop_if_cancelled() {
  if (in_scope != nullptr && in_scope->cancelled()) throw Interrupted();
}

}  // namespace lull
