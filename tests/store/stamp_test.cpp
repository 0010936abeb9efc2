#include "store/stamp.hpp"

#include <gtest/gtest.h>

#include "store/disk.hpp"
#include "support/folder.hpp"

namespace mien::store {
namespace {

TEST(Stamp, TellsAFileThatWasWrittenReplacedOrDeleted) {
  const support::Folder folder;
  const auto file = folder / "a";
  EXPECT_FALSE(stamp_of(file).there);
  EXPECT_FALSE(changed_since(file, {})) << "nothing would be lost";
  support::write(file, "one");
  const Stamp first = stamp_of(file);
  EXPECT_EQ(stamp_of(file), first);
  EXPECT_FALSE(changed_since(file, first));
  EXPECT_TRUE(changed_since(file, {})) << "it was not there before";
  support::write(file, "three");
  EXPECT_TRUE(changed_since(file, first));
  const Stamp second = stamp_of(file);
  ASSERT_FALSE(replace_file(file, "three"));  // the same bytes, another file
  EXPECT_TRUE(changed_since(file, second));
  std::filesystem::remove(file);
  EXPECT_FALSE(changed_since(file, second));
  std::filesystem::create_symlink("b", file);
  support::write(folder / "b", "four");
  EXPECT_EQ(stamp_of(file), stamp_of(folder / "b"));
}

TEST(OpenShow, IsHeldByOneAtATimeByWhateverNameTheFileGoes) {
  const support::Folder folder;
  support::write(folder / "a.show.json", "x");
  std::filesystem::create_symlink("a.show.json", folder / "b.show.json");
  auto first = OpenShow::take(folder / "state", folder / "a.show.json");
  EXPECT_TRUE(first.held());
  EXPECT_FALSE(OpenShow::take(folder / "state", folder / "b.show.json").held());
  EXPECT_TRUE(OpenShow::take(folder / "state", folder / "c.show.json").held());
  EXPECT_TRUE(OpenShow::take({}, folder / "a.show.json").held()) << "nobody can be told";
  first = {};
  EXPECT_TRUE(OpenShow::take(folder / "state", folder / "b.show.json").held());
  EXPECT_TRUE(std::filesystem::is_empty(folder / "state" / "open"));
}

}  // namespace
}  // namespace mien::store
