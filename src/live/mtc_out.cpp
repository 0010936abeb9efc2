#include "live/mtc_out.hpp"

#include <algorithm>
#include <cstdlib>

namespace mien::live {
namespace {


}  // namespace

show::Time MtcOut::quarter_time(std::int64_t quarter) const noexcept {
  const std::int64_t frame = quarter / 4;
  const show::Time begins = time_of(rate_, frame);
  return begins + (time_of(rate_, frame + 1) - begins) * (quarter % 4) / 4;
}

void MtcOut::follow(const ShowLine& line) noexcept {
  const show::Time expected = line_.playing ? line_.time + show::Time{line.at_ns - line_.at_ns} : line_.time;
  const std::int64_t off = std::llabs((line.time - expected).count()), quarter = quarter_time(1).count();
  const bool news = !known_ || line.playing != line_.playing || off > quarter;
  known_ = true;
  line_ = line;
  if (news) begin(line.at_ns);
}

void MtcOut::begin(std::int64_t at_ns) noexcept {
  full_due_ = true;
  // From the next group on: pieces that are in the past already would come in a burst.
  const show::Time code = std::max(show::Time{0}, line_.time + zero_ + show::Time{line_.playing ? at_ns - line_.at_ns : 0});
  quarter_ = frame_at(rate_, code) / 2 * kPieces;
  while (quarter_time(quarter_) < code) quarter_ += kPieces;
}

std::int64_t MtcOut::next_ns() const noexcept {
  return line_.playing ? line_.at_ns + (quarter_time(quarter_) - zero_ - line_.time).count() : INT64_MAX;
}

MtcBytes MtcOut::due(std::int64_t now_ns) noexcept {
  MtcBytes out;
  if (!known_) return out;
  if (line_.playing && now_ns - next_ns() > quarter_time(kPieces).count()) begin(now_ns);
  if (full_due_) {
    full_due_ = false;
    const show::Time code = std::max(show::Time{0}, line_.time + zero_ + show::Time{line_.playing ? std::max<std::int64_t>(0, now_ns - line_.at_ns) : 0});
    const auto bytes = full_frame(label_of(rate_, frame_at(rate_, code)));
    out.byte = {0xF0, 0x7F, 0x7F, 0x01, 0x01, bytes[0], bytes[1], bytes[2], bytes[3], 0xF7};
    out.count = 10;
    return out;
  }
  if (next_ns() > now_ns) return out;
  const TimeCode label = label_of(rate_, quarter_ / kPieces * 2);
  out.byte[0] = 0xF1, out.byte[1] = quarter_frame(label, static_cast<int>(quarter_ % kPieces));
  out.count = 2;
  ++quarter_;
  return out;
}

}  // namespace mien::live
