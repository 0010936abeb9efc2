#include "editor/desktop_dialog.hpp"

#include "threads/steady.hpp"

namespace mien::editor {
namespace {

constexpr std::int64_t kSlow_ns = 300'000'000;  ///< where there is none, that is known long before

}  // namespace

void DesktopDialog::use(AskPortal ask, std::string parent) { ask_ = std::move(ask), parent_ = std::move(parent), useless_ = false; }

void DesktopDialog::ask(PathWanted wanted) {
  close();
  wanted.parent = parent_;
  next_ = std::move(wanted), asking_ = true, asked_ns_ = threads::steady_ns();
  begin();
}

void DesktopDialog::begin() {
  if (!next_ || job_.running()) return;
  job_.start([ask = ask_, wanted = std::move(*next_)](const GoOn& go_on) { return ask(wanted, go_on); });
  next_.reset();
}

void DesktopDialog::close() {
  next_.reset(), asking_ = false;
  if (job_.running()) job_.stop(), stale_ = true;
}

bool DesktopDialog::slow() const noexcept { return asking_ && threads::steady_ns() - asked_ns_ > kSlow_ns; }

std::optional<PathAnswer> DesktopDialog::answer() {
  auto done = job_.take();
  if (!done) return {};
  if (std::exchange(stale_, false)) {
    begin();
    return {};
  }
  asking_ = false;
  return done;
}

}  // namespace mien::editor
