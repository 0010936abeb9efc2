#include "board/baked.hpp"

#include <random>

#include "board/baked_images.hpp"

namespace mien::board {
namespace {

BakeFault fault_of(const Image& image) {
  Baked baked;
  const BakeFault fault = read(bytes(image), baked);
  return fault != BakeFault::none ? fault : check(baked);
}

std::vector<int> played_us(const Image& image, int track, std::uint32_t from) {
  Baked baked;
  EXPECT_EQ(read(bytes(image), baked), BakeFault::none);
  TrackReader reader;
  EXPECT_TRUE(reader.start(baked, track, from));
  std::vector<int> us;
  std::uint8_t value[wire::kMaxChannels];
  for (std::uint16_t pulse[wire::kMaxOutputs]; reader.next(pulse, value);) {
    us.push_back(pulse[0] / 16);
    EXPECT_EQ(pulse[1], 24000);
  }
  EXPECT_TRUE(reader.at_end());
  return us;
}

std::vector<int> wander(int ticks) {
  std::mt19937 random(4);
  std::vector<int> us = {1500};
  while (static_cast<int>(us.size()) < ticks) us.push_back(std::clamp(us.back() + static_cast<int>(random() % 41) - 20, 1000, 2000));
  us[7] = 2000, us[8] = 1000;  // a leap that takes the escape
  return us;
}

TEST(Baked, ReadsEveryTickOfEveryTrackThatAnotherWriterWrote) {
  ImageOf what;
  what.tracks = {wander(200), hill(), {1500}, wander(64), wander(65)};
  const Image image = image_of(what);
  EXPECT_EQ(fault_of(image), BakeFault::none);
  for (std::size_t t = 0; t < what.tracks.size(); ++t) EXPECT_EQ(played_us(image, static_cast<int>(t), 0), what.tracks[t]);
}

TEST(Baked, ReadsTheExampleOfThePage) {
  ImageOf what;
  what.tracks = {{1500, 1501, 1503, 1505, 1506}};
  what.body = {2 << 4 | 1, 0xC0, 0x5D, 0, 0xC0, 0x5D, 0x90, 0x40};
  EXPECT_EQ(played_us(image_of(what), 0, 0), what.tracks[0]);
}

/// A track that accelerates, steadily then not, takes order 3 and its whole history.
TEST(Baked, PredictsByAsManyTicksAsAreKnown) {
  ImageOf what;
  what.tracks = {{1500, 1501, 1503, 1506, 1510, 1515}};
  // Order 3, parameter 0: residuals 1 (order 1), 1 (order 2), 0, 0, 0; folded 2, 2, 0, 0, 0: 110 110 0 0 0.
  what.body = {3 << 4, 0xC0, 0x5D, 0, 0xC0, 0x5D, 0xD8, 0x00};
  EXPECT_EQ(played_us(image_of(what), 0, 0), what.tracks[0]);
}

TEST(Baked, BeginsAtAnyTick) {
  ImageOf what;
  what.tracks = {wander(200)};
  const Image image = image_of(what);
  for (std::uint32_t from : {1u, 63u, 64u, 65u, 127u, 128u, 199u}) {
    const std::vector<int> rest(what.tracks[0].begin() + from, what.tracks[0].end());
    EXPECT_EQ(played_us(image, 0, from), rest) << from;
  }
}

TEST(Baked, HasNoTickBeyondTheLastAndNoTrackThatIsNotThere) {
  const Image image = image_of({});
  Baked baked;
  ASSERT_EQ(read(bytes(image), baked), BakeFault::none);
  TrackReader reader;
  EXPECT_FALSE(reader.start(baked, 0, 4));
  EXPECT_FALSE(reader.start(baked, 1, 0));
  EXPECT_FALSE(reader.start(baked, -1, 0));
  std::uint16_t pulse[wire::kMaxOutputs];
  std::uint8_t value[wire::kMaxChannels];
  EXPECT_FALSE(reader.next(pulse, value));
}

TEST(Baked, ReadsTheValuesOfAnAuxiliaryBesideThePulses) {
  ImageOf what;
  what.tracks = {wander(150), hill()};
  what.lamp = {std::vector<int>(150, 0), std::vector<int>(what.tracks[1].size(), 255)};
  for (std::size_t n = 0; n < 150; ++n) what.lamp[0][n] = n < 40 ? 0 : n < 41 ? 255 : static_cast<int>(n * 7 % 256);
  const Image image = image_of(what);
  ASSERT_EQ(fault_of(image), BakeFault::none);
  for (std::size_t t = 0; t < 2; ++t) {
    EXPECT_EQ(played_us(image, static_cast<int>(t), 0), what.tracks[t]);
    for (const std::uint32_t from : {0u, 30u}) {
      Baked baked;
      ASSERT_EQ(read(bytes(image), baked), BakeFault::none);
      EXPECT_EQ(baked.value[0].base, 0);
      TrackReader reader;
      ASSERT_TRUE(reader.start(baked, static_cast<int>(t), from));
      std::uint16_t pulse[wire::kMaxOutputs];
      std::uint8_t value[wire::kMaxChannels];
      for (std::size_t n = from; reader.next(pulse, value); ++n) EXPECT_EQ(value[0], what.lamp[t][n]) << "track " << t << " tick " << n;
    }
  }
}

TEST(Baked, GivesNoValueBeyondAByte) {
  ImageOf what;
  what.tracks = {{1500, 1500, 1500}};
  what.lamp = {{250, 255, 256}};
  Baked baked;
  const Image image = image_of(what);
  ASSERT_EQ(read(bytes(image), baked), BakeFault::none);
  TrackReader reader;
  ASSERT_TRUE(reader.start(baked, 0, 0));
  std::uint16_t pulse[wire::kMaxOutputs];
  std::uint8_t value[wire::kMaxChannels];
  EXPECT_TRUE(reader.next(pulse, value));
  EXPECT_TRUE(reader.next(pulse, value));
  EXPECT_EQ(value[0], 255);
  EXPECT_FALSE(reader.next(pulse, value));
}

TEST(Baked, NamesWhatIsWrong) {
  EXPECT_EQ(fault_of({}), BakeFault::empty);
  EXPECT_EQ(fault_of(Image(4096, 0xFF)), BakeFault::empty);
  EXPECT_EQ(fault_of(Image(4096, 0x00)), BakeFault::unknown);
  Image image = image_of({});
  EXPECT_EQ(fault_of(Image(image.begin(), image.end() - 1)), BakeFault::cut_short);
  Image newer = image;
  newer[3] = '3';
  EXPECT_EQ(fault_of(newer), BakeFault::unknown);
  const auto absurd = [&](std::size_t at, std::uint8_t value) {
    Image changed = image;
    changed[at] = value;
    reseal(changed);
    return fault_of(changed);
  };
  EXPECT_EQ(absurd(10, 0xFF), BakeFault::absurd);  // address
  EXPECT_EQ(absurd(11, 3), BakeFault::absurd);     // role
  EXPECT_EQ(absurd(13, 0xFF), BakeFault::absurd);  // 65,000 ticks a second
  EXPECT_EQ(absurd(15, 17), BakeFault::absurd);    // outputs
  EXPECT_EQ(absurd(16, 0), BakeFault::absurd);     // tracks
  EXPECT_EQ(absurd(19, 1), BakeFault::absurd);     // a start that can't come: value outside its mask
  EXPECT_EQ(absurd(41, 9), BakeFault::absurd);     // a loop from beyond the end
  EXPECT_EQ(absurd(45, 9), BakeFault::absurd);     // auxiliary channels
  EXPECT_EQ(absurd(50, 0), BakeFault::absurd);     // two streams for output 0
  ImageOf lit;
  lit.lamp = {{1, 2, 3, 4}};
  image = image_of(lit);
  EXPECT_EQ(absurd(54, 8), BakeFault::absurd);     // a channel that no board has
}

TEST(Baked, BytesBehindTheImageDoNotMatter) {
  Image image = image_of({});
  image.resize(image.size() + 1000, 0xFF);
  EXPECT_EQ(fault_of(image), BakeFault::none);
}

TEST(Baked, EveryChangedBitIsFound) {
  ImageOf what;
  what.tracks = {wander(150), hill()};
  Image image = image_of(what);
  for (std::size_t at = 0; at < image.size(); ++at)
    for (int bit = 0; bit < 8; ++bit) {
      image[at] ^= static_cast<std::uint8_t>(1 << bit);
      EXPECT_NE(fault_of(image), BakeFault::none) << "byte " << at << " bit " << bit;
      image[at] ^= static_cast<std::uint8_t>(1 << bit);
    }
}

/// Reads all there is, whatever it is, and returns how many ticks that was; the sanitizers watch.
std::uint32_t read_all(const Image& image) {
  const Image exact(image);  // no byte to spare behind it
  Baked baked;
  if (read(bytes(exact), baked) != BakeFault::none) return 0;
  check(baked);
  std::uint32_t all = 0;
  for (int t = 0; t < baked.tracks; ++t)
    for (const std::uint32_t from : {0u, 70u, baked.track[t].ticks - 1}) {
      TrackReader reader;
      if (!reader.start(baked, t, from)) continue;
      std::uint16_t pulse[wire::kMaxOutputs];
      std::uint8_t value[wire::kMaxChannels];
      std::uint32_t ticks = 0;
      while (ticks < 400 && reader.next(pulse, value)) ++ticks;
      EXPECT_LE(ticks, baked.track[t].ticks - from) << "track " << t << " gave more than it has";
      all += ticks;
    }
  return all;
}

// The same verdict, piece by piece of any size, and not one byte before its time.
TEST(Baked, IsLookedOverInPiecesAsAtOnce) {
  ImageOf what;
  what.tracks = {wander(200), hill(), {1500}, wander(64), wander(65)};
  const Image whole = image_of(what);
  Image broken = whole;
  broken.back() ^= 1;
  const std::size_t head = whole[8] | whole[9] << 8;
  for (const Image* image : std::initializer_list<const Image*>{&whole, &broken})
    for (const std::size_t piece : {std::size_t{1}, std::size_t{2}, std::size_t{7}, std::size_t{64}, whole.size()}) {
      Baked baked;
      ASSERT_EQ(read(bytes(*image), baked), BakeFault::none);
      Check check;
      std::size_t pieces = 0;
      for (check.start(baked); !check.over(); ++pieces) check.go_on(piece);
      EXPECT_EQ(check.fault(), image == &whole ? BakeFault::none : BakeFault::damaged) << piece;
      EXPECT_EQ(pieces, (whole.size() - head + piece - 1) / piece);
    }
}

TEST(Baked, RandomBytesAreNeverReadBeyondTheirEnd) {
  std::mt19937 random(1);
  ImageOf what;
  what.tracks = {wander(150), hill()};
  const Image good = image_of(what);
  std::uint32_t ticks = 0;
  for (int round = 0; round < 20'000; ++round) {
    Image image = good;
    const int changes = 1 + static_cast<int>(random() % 12);
    for (int i = 0; i < changes; ++i) image[4 + random() % (image.size() - 4)] = static_cast<std::uint8_t>(random());
    if (round % 3 == 0) image.resize(10 + random() % image.size(), static_cast<std::uint8_t>(random()));
    const std::size_t size = image.size();  // sizes that are right, so that more is reached behind them
    for (int i = 0; i < 4; ++i) image[static_cast<std::size_t>(4 + i)] = static_cast<std::uint8_t>(size >> 8 * i);
    if (const std::size_t head = image[8] | image[9] << 8; head >= 12 && head <= size) reseal(image);
    ticks += read_all(image);
  }
  EXPECT_GT(ticks, 100'000u) << "too few of the images got as far as their ticks";
}

}  // namespace
}  // namespace mien::board
