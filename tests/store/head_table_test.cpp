#include "store/head_table.hpp"

#include <gmock/gmock.h>

#include "perform/rig_check.hpp"
#include "show/validate.hpp"

namespace mien::tests {
namespace {
using testing::HasSubstr;

TEST(HeadTable, ReadsColumnsInAnyOrderAndWithAnySeparator) {
  for (const char* text : {"name,output,reversed,Min deg\njaw,3,yes,-4\n\nlid,,no,\n", "name;output;reversed;min_deg\r\njaw;3;1;-4\r\nlid;;0;\r\n",
                           "\xEF\xBB\xBFname\toutput\treversed\tmin_deg\njaw\t3\ttrue\t-4\nlid\t\tfalse"}) {
    const auto table = store::read_head_table(text, "t.csv");
    ASSERT_TRUE(table) << show::to_text(table.problem());
    ASSERT_EQ(table->rows.size(), 2u);
    EXPECT_EQ(table->rows[0].name, "jaw");
    EXPECT_EQ(table->rows[0].output, 3);
    EXPECT_EQ(table->rows[0].reversed, true);
    EXPECT_EQ(table->rows[0].min_deg, -4);
    EXPECT_EQ(table->rows[0].line, 2);
    EXPECT_EQ(table->rows[1].name, "lid");
    EXPECT_FALSE(table->rows[1].output);
    EXPECT_EQ(table->rows[1].reversed, false);
    EXPECT_TRUE(table->notes.empty());
  }
}

TEST(HeadTable, ACellMayHoldASheetLineInQuotes) {
  const auto table = store::read_head_table("name,servo\njaw,\"Big, 0.2 s/60 deg, 120 deg\"\n", "t.csv");
  ASSERT_TRUE(table);
  EXPECT_EQ(table->rows[0].servo, "Big, 0.2 s/60 deg, 120 deg");
}

TEST(HeadTable, RefusesWithTheLineAndTheCure) {
  for (const auto& [text, place, what] : {std::tuple{"", "line 1", "nothing"}, std::tuple{"jaw,lid\n", "line 1", "no column 'name'"}, std::tuple{"name,name\n", "line 1", "twice"},
                                          std::tuple{"name,output\njaw,x\n", "line 2", "'x' is not a number"}, std::tuple{"name,output\njaw,16\n", "line 2", "'16'"}, std::tuple{"name,output\njaw,1.5\n", "line 2", "'1.5'"},
                                          std::tuple{"name\njaw,3\n", "line 2", "2 cells under 1 columns"}, std::tuple{"name,reversed\nlid,\njaw,maybe\n", "line 3", "'maybe'"},
                                          std::tuple{"name\n\"jaw\n", "line 2", "quote"}, std::tuple{"name,min_deg\njaw,nan\n", "line 2", "'nan'"}}) {
    const auto table = store::read_head_table(text, "t.csv");
    ASSERT_FALSE(table) << text;
    EXPECT_EQ(table.problem().place, place) << text;
    EXPECT_THAT(table.problem().what, HasSubstr(what)) << text;
    EXPECT_FALSE(table.problem().cure.empty()) << text;
  }
}

TEST(HeadTable, SaysWhichColumnItLeavesOut) {
  const auto table = store::read_head_table("name,rol\njaw,jaw_open\n", "t.csv");
  ASSERT_TRUE(table);
  ASSERT_EQ(table->notes.size(), 1u);
  EXPECT_THAT(table->notes[0].what, HasSubstr("'rol'"));
  EXPECT_THAT(table->notes[0].cure, HasSubstr("'role'"));
}

// What a rig of every part is to be performed by the tick: check_rig solves its constraints and its rest pose.
TEST(HeadTable, BecomesARigThatCanBePerformed) {
  show::Head head{"Whole", 1, 16, {}, {}};
  for (int r = 0; r < show::kRoleCount; ++r) {
    show::HeadRow row;
    row.name = show::name(static_cast<show::Role>(r));
    head.rows.push_back(row);
  }
  const auto made = show::suggest_rig(head, "t.csv");
  const auto findings = perform::check_rig(made.rig, "r");
  for (const auto& f : findings) ADD_FAILURE() << show::to_text(f);
  EXPECT_FALSE(show::has_errors(show::validate(made.rig, "r")));
}

}  // namespace
}  // namespace mien::tests
