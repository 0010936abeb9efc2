#include "app/commands.hpp"

int main(int count, char** words) { return mien::app::run(count, words); }
