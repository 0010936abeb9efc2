#include "board/storage.hpp"

#include "board/standing_boards.hpp"

namespace mien::board {
namespace {

void store(Chain& chain, const Image& image, std::uint16_t crc) {
  chain.send(wire::StoreBegin{0, 1, static_cast<std::uint32_t>(image.size())});
  for (std::size_t at = 0; at < image.size(); at += wire::kMaxChunk) {
    wire::StoreChunk chunk;
    chunk.offset = static_cast<std::uint32_t>(at);
    chunk.count = static_cast<std::uint8_t>(std::min<std::size_t>(wire::kMaxChunk, image.size() - at));
    std::copy_n(image.begin() + static_cast<std::ptrdiff_t>(at), chunk.count, chunk.bytes);
    chain.send(chunk);
    chain.send(chunk);  // as when the answer was lost
  }
  chain.send(wire::StoreCommit{0, 2, crc});
}

TEST(Storing, AShowIsKeptWholeAndPlaysFromTheNextPowerOn) {
  Chain chain({Image{}});
  chain.send(wire::Hello{0, 1, true});
  const Image image = image_of(at_power_on());
  store(chain, image, wire::crc16(image.data(), image.size()));
  const auto told = chain.newest_answer<wire::Playback>();
  EXPECT_EQ(told.token, 2);
  EXPECT_EQ(told.fault, BakeFault::none);
  EXPECT_EQ(told.bake, 77u);
  EXPECT_EQ(told.phase, Phase::off);
  chain.run_ms(3000);
  EXPECT_EQ(chain.us(), 0);
  chain.board().stand_alone(kBeforeTheWrap);
  chain.until_phase(Phase::show);
}

TEST(Storing, RefusesWhatIsTooLargeOutOfTurnOrNotWhole) {
  Chain chain({Image{}});
  chain.send(wire::Hello{0, 1, true});
  const auto reason = [&] { return chain.newest_answer<wire::Refusal>().reason; };
  chain.send(wire::StoreBegin{0, 1, 4097});
  EXPECT_EQ(reason(), wire::Reason::no_room);
  wire::StoreChunk chunk;
  chunk.count = 10;
  chain.send(chunk);
  EXPECT_EQ(reason(), wire::Reason::store_failed);
  chain.send(wire::StoreBegin{0, 1, 200});
  chunk.offset = 128;
  chain.send(chunk);
  EXPECT_EQ(reason(), wire::Reason::store_failed);
  const Image image = image_of(at_power_on());
  store(chain, image, 0x1234);
  EXPECT_EQ(chain.newest_answer<wire::Refusal>().of, static_cast<std::uint8_t>(wire::Type::store_commit));
}

/// Memory that takes bytes in pages, as flash does, and counts how often it is asked for patience.
struct PagedMemory {
  Image bytes = Image(16'384, 0xFF), page;
  int finished = 0, patience = 0;
  bool works = true;
  Storage storage() {
    return Storage({this, bytes.data(), static_cast<std::uint32_t>(bytes.size()), [](void*, std::uint32_t) { return true; },
                    [](void* context, std::uint32_t, const std::uint8_t* at, std::uint32_t count) {
                      Image& kept = static_cast<PagedMemory*>(context)->page;
                      return kept.insert(kept.end(), at, at + count), true;
                    },
                    [](void* context) {
                      auto& memory = *static_cast<PagedMemory*>(context);
                      std::copy(memory.page.begin(), memory.page.end(), memory.bytes.begin());
                      return ++memory.finished, memory.works;
                    },
                    [](void* context) { ++static_cast<PagedMemory*>(context)->patience; }});
  }
};

TEST(Storing, MemoryHearsOfTheLastByteOnceAndOfLongReading) {
  PagedMemory memory;
  Storage storage = memory.storage();
  const Image image(10'000, 0x5A);
  EXPECT_TRUE(storage.begin(10'000).ok());
  for (std::size_t at = 0; at < image.size(); at += wire::kMaxChunk) {
    EXPECT_EQ(memory.finished, 0);
    wire::StoreChunk chunk{0, 1, static_cast<std::uint32_t>(at)};
    chunk.count = static_cast<std::uint8_t>(std::min<std::size_t>(wire::kMaxChunk, image.size() - at));
    std::fill_n(chunk.bytes, chunk.count, 0x5A);
    EXPECT_TRUE(storage.add(chunk).ok());
    EXPECT_TRUE(storage.add(chunk).ok());
  }
  EXPECT_EQ(memory.finished, 1);
  EXPECT_TRUE(storage.commit(wire::crc16(image.data(), image.size())).ok());
  EXPECT_EQ(memory.patience, 3);  // for 4096 bytes each
}

TEST(Storing, MemoryThatFailsAtTheLastByteFailsTheShow) {
  PagedMemory memory;
  memory.works = false;
  Storage storage = memory.storage();
  EXPECT_TRUE(storage.begin(5).ok());
  wire::StoreChunk chunk;
  chunk.count = 5;
  EXPECT_EQ(storage.add(chunk).reason, wire::Reason::store_failed);
  EXPECT_EQ(storage.add(chunk).reason, wire::Reason::store_failed);
  EXPECT_EQ(storage.commit(wire::crc16(chunk.bytes, 5)).reason, wire::Reason::store_failed);
}

TEST(Storing, IsRefusedWhileOutputsAreDriven) {
  ImageOf what = at_power_on();
  what.loop = true;
  Chain chain({image_of(what)});
  chain.until_phase(Phase::show);
  chain.send(wire::StoreBegin{0, 1, 100});
  EXPECT_EQ(chain.newest_answer<wire::Refusal>().reason, wire::Reason::armed);
}

}  // namespace
}  // namespace mien::board
