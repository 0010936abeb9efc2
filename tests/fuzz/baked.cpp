// Baked shows as a board finds them in its memory: read in place, and played.
#include <memory>

#include "board/player.hpp"
#include "fuzz/script.hpp"
#include "wire/crc16.hpp"

namespace mien {
namespace {

using fuzz::demand;
using Image = std::vector<std::uint8_t>;

void seal(Image& image, std::size_t begin, std::size_t end) {
  if (end < begin || end + 2 > image.size()) return;
  const std::uint16_t crc = wire::crc16(image.data() + begin, end - begin);
  image[end] = static_cast<std::uint8_t>(crc >> 8), image[end + 1] = static_cast<std::uint8_t>(crc & 0xFF);
}

/// Makes every CRC right, which no mutation would: BAKED.md says where they are.
void seal_all(Image& image) {
  if (image.size() < 12) return;
  const std::size_t head = image[8] | static_cast<std::size_t>(image[9]) << 8;
  if (head < 2) return;
  seal(image, 0, head - 2);
  for (std::size_t at = head; at + 4 <= image.size();) {
    const std::size_t body = image[at] | static_cast<std::size_t>(image[at + 1]) << 8;
    seal(image, at, at + 2 + body);
    at += 2 + body + 2;
  }
}

void read_all(const board::Baked& baked) {
  board::TrackReader reader;
  std::uint16_t pulse[wire::kMaxOutputs];
  std::uint8_t value[wire::kMaxChannels];
  std::uint32_t read = 0;
  for (int track = -1; track <= baked.tracks; ++track) {
    const bool there = track >= 0 && track < baked.tracks;
    const std::uint32_t ticks = there ? baked.track[track].ticks : 1;
    for (const std::uint32_t from : {std::uint32_t{0}, ticks / 2, ticks - 1, ticks}) {
      const bool began = reader.start(baked, track, from);
      demand(!began || (there && from < ticks), "no track and no tick that there isn't");
      // Whatever pulses these are: it is the drive that holds them to the outputs' limits, below.
      std::uint32_t left = ticks - from;
      while (began && read < 20'000 && reader.next(pulse, value)) {
        ++read;
        demand(left-- > 0, "a track gives no more ticks than it has");
      }
    }
  }
}

void play(wire::Bytes image, std::uint8_t address, std::span<const std::uint8_t> inputs) {
  board::Drive drive({16, 16, 1});
  board::Player player;
  std::uint32_t now_us = 0xFFFFF000;
  player.load(image, address, drive, now_us);
  wire::Lead lead;
  for (std::size_t n = 0; n < 600; ++n) {
    now_us += 1000;
    const std::uint8_t level = n / 50 < inputs.size() ? inputs[n / 50] : std::uint8_t{0};
    board::Senses senses;
    senses.inputs = level, senses.faults = level >> 6;
    player.tick(now_us, senses, drive);
    drive.tick(now_us, senses);
    player.tell(lead);
    if (n % 100 == 99) player.follow({player.baked().number, static_cast<wire::Phase>(level % 6), static_cast<std::uint8_t>(level >> 3), level * 3u}, now_us, drive);
    for (int output = 0; output < drive.outputs(); ++output) {
      const auto pulse = drive.output(output).pulse();
      demand(pulse == 0 || (pulse >= wire::kPulseFloor && pulse <= wire::kPulseCeiling), "a pulse is one that servos take");
    }
  }
}

}  // namespace
}  // namespace mien

/// First a byte of how, then 8 bytes of inputs, then the image.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  if (size < 9) return 0;
  Image image(data + 9, data + size);
  if (data[0] & 1) seal_all(image);
  const std::unique_ptr<std::uint8_t[]> exact(new std::uint8_t[image.size()]);  // so that a read beyond is seen
  std::copy(image.begin(), image.end(), exact.get());
  const wire::Bytes bytes{exact.get(), image.size()};
  board::Baked baked;
  const auto fault = board::read(bytes, baked);
  if (fault == board::BakeFault::none) {
    demand(baked.outputs >= 0 && baked.outputs <= wire::kMaxOutputs && baked.tracks >= 1 && baked.tracks <= board::kMaxTracks, "a head that is read is within bounds");
    board::check(baked), read_all(baked);
  }
  if (data[0] & 2) play(bytes, data[0] >> 4 & 3, {data + 1, 8});
  return 0;
}
