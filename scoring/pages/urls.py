"""The pages people use."""

from django.urls import path

from . import board, class_page, coach, history, home, log, privacy, result, setup

urlpatterns = [
    path("", home.home, name="home"),
    path("cautions/", home.cautions, name="cautions"),
    path("classes/", home.class_list, name="class-list"),
    path("classes/<int:pk>/", class_page.class_page, name="class"),
    path("classes/<int:pk>/log/", log.log, name="class-log"),
    path("classes/<int:pk>/log/try/", log.try_out, name="class-log-try"),
    path("classes/<int:pk>/board/", board.board_page, name="class-board"),
    path("classes/<int:pk>/board/rows/", board.board_rows, name="board-rows"),
    path("results/<int:pk>/", result.result_page, name="result"),
    path("results/<int:pk>/opened/", result.opened, name="result-opened"),
    path("results/<int:pk>/withdraw/", result.withdraw, name="result-withdraw"),
    path("coach/preview/", coach.workout_preview, name="workout-preview"),
    path("coach/classes/new/", coach.class_new, name="class-new"),
    path("coach/classes/<int:pk>/", coach.class_manage, name="class-manage"),
    path("coach/classes/<int:pk>/edit/", coach.class_edit, name="class-edit"),
    path("me/gear/", setup.my_gear, name="setup"),
    path("me/privacy/", privacy.privacy, name="privacy"),
    path("me/export/", privacy.export, name="export"),
    path("me/export/<str:token>/", privacy.export_file, name="export-file"),
    path("me/leave/", privacy.leave, name="leave"),
    path("me/erase/", privacy.erase_me, name="erase-me"),
    path("me/history/", history.history_page, name="history"),
]
