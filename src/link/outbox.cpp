#include "link/outbox.hpp"

#include <algorithm>
#include <cassert>

namespace mien::link {

void Outbox::put(std::span<const std::uint8_t> packet, bool frame) {
  assert(!packet.empty() && packet.size() <= wire::kMaxOnWire);
  const auto frames = std::count_if(packets_.begin(), packets_.end(), [](const Packet& p) { return p.frame; });
  if (frame && static_cast<std::size_t>(frames) >= kMaxFrames) drop_oldest(true);
  if (packets_.size() >= kMaxPackets) drop_oldest(false);
  auto& added = packets_.emplace_back();
  std::copy(packet.begin(), packet.end(), added.bytes.begin());
  added.size = packet.size();
  added.frame = frame;
}

void Outbox::drop_oldest(bool frames_only) {
  const auto begin = packets_.begin() + (written_ > 0 ? 1 : 0);  // a packet half on the line has to be finished
  const auto oldest = std::find_if(begin, packets_.end(), [&](const Packet& p) { return p.frame || !frames_only; });
  if (oldest == packets_.end()) return;
  if (oldest->frame) ++frames_dropped_;
  packets_.erase(oldest);
}

void Outbox::clear() {
  for (const auto& each : packets_) frames_dropped_ += each.frame;
  packets_.clear();
  written_ = 0;
}

void Outbox::put_first(std::span<const std::uint8_t> packet) {
  clear();
  // Always, for the system's buffer may have been cut within a packet as well; boards take delimiters in a row as none.
  const std::uint8_t delimiter[] = {wire::kDelimiter};
  put(delimiter, false);
  put(packet, false);
}

std::span<const std::uint8_t> Outbox::front() const noexcept {
  if (packets_.empty()) return {};
  return std::span(packets_.front().bytes).subspan(written_, packets_.front().size - written_);
}

bool Outbox::wrote(std::size_t count) {
  if (packets_.empty()) return false;
  written_ += count;
  if (written_ < packets_.front().size) return false;
  const bool frame = packets_.front().frame;
  packets_.pop_front();
  written_ = 0;
  return frame;
}

}  // namespace mien::link
